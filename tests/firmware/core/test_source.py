"""The C source by itself: it compiles without a warning for every board, analysers find nothing, files stay short."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from sequencer.board.profiles import AVR328, AVR2560, PROFILES, Profile
from tests.firmware.core.bench import CORE

SOURCES = sorted(CORE.glob("*.c"))
WRITTEN = sorted(
    path for path in (*CORE.glob("*.[ch]"), *CORE.parent.glob("boards/*.[ch]")) if path.name != "protocol.h"
)
WARNINGS = ("-Wall", "-Wextra", "-Werror", "-Wconversion")
LONGEST_FILE, LONGEST_FUNCTION, LONGEST_LINE = 400, 60, 120


def found(tool: str) -> str:
    path = shutil.which(tool)
    assert path, f"this test needs {tool}"
    return path


def clean(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert not done.stderr.strip(), done.stderr


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.name)
def test_the_core_compiles_as_c11_without_a_warning(profile: Profile, tmp_path: Path) -> None:
    for source in SOURCES:
        clean(found("gcc"), "-std=c11", "-pedantic", "-O2", *WARNINGS, f"-DBOARD_KIND={profile.kind}", f"-I{CORE}",
              "-c", str(source), "-o", str(tmp_path / "one.o"))  # fmt: skip


def test_the_analyser_of_the_compiler_finds_nothing(tmp_path: Path) -> None:
    for source in SOURCES:
        clean(found("gcc"), "-std=c11", "-O1", "-fanalyzer", *WARNINGS, "-DBOARD_KIND=1", f"-I{CORE}", "-c",
              str(source), "-o", str(tmp_path / "one.o"))  # fmt: skip


def test_a_second_analyser_finds_nothing() -> None:
    clean(found("cppcheck"), "--quiet", "--std=c11", "--enable=warning,performance,portability", "--error-exitcode=1",
          "--inline-suppr", "-DBOARD_KIND=1", f"-I{CORE}", *map(str, SOURCES))  # fmt: skip


@pytest.mark.parametrize(
    ("profile", "chip"),
    [(AVR328, "atmega328p"), (AVR2560, "atmega2560")],
    ids=lambda value: getattr(value, "name", value),
)
def test_there_is_no_heap_no_floating_point_and_no_division_of_64_bits(
    profile: Profile, chip: str, tmp_path: Path
) -> None:
    """By the names that the compiler's own library has for them, in the objects of the core."""
    banned = re.compile(r"\b(malloc|calloc|free|realloc|__u?(div|mod)di3|__udivmod64|__\w+sf[23]?|__\w+df[23]?)\b")
    for source in SOURCES:
        target = tmp_path / f"{source.stem}.o"
        subprocess.run(
            [found("avr-gcc"), "-std=gnu11", "-Os", "-fshort-enums", f"-mmcu={chip}", f"-DBOARD_KIND={profile.kind}",
             f"-I{CORE}", "-c", str(source), "-o", str(target)], check=True)  # fmt: skip
        names = subprocess.run([found("avr-nm"), "-u", str(target)], capture_output=True, text=True, check=True).stdout
        assert not banned.search(names), f"{source.name}: {names}"


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.name)
def test_files_functions_and_lines_can_be_read_in_one_sitting(path: Path) -> None:
    lines = path.read_text(encoding="ascii").split("\n")
    assert len(lines) <= LONGEST_FILE
    assert max(map(len, lines)) <= LONGEST_LINE
    began = 0
    for number, line in enumerate(lines):
        if line == "{":
            began = number
        elif line == "}":
            assert number - began <= LONGEST_FUNCTION, f"the function that ends in line {number + 1}"
