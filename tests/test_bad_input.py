"""Whatever a file holds: one clear finding, an exit code, in bounded time and memory, and never a traceback."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LONGEST_S = 10.0
"""Processor seconds, far above what any of them takes; without a bound the worst would take hours."""
MOST_KB = 400_000

GOOD = """show "Yard"
board box like avr328
sensor step like mat: on box in0
lamp glow: on box pwm0
speaker horn: on box out0
    clip call "call.wav"
scare peep on step trips:
    0 s: glow on, horn plays call
    1 s: glow off
"""


def changed(old: str, new: str) -> bytes:
    assert old in GOOD
    return GOOD.replace(old, new).encode()


CASES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "L003"),
    "only comments": (b"# nothing\n\n# at all\n", "L003"),
    "binary": (bytes(range(256)) * 40, "L001"),
    "zero bytes": (GOOD.encode().replace(b"Yard", b"Ya\0rd"), "L001"),
    "UTF-16": (GOOD.encode("utf-16"), "L001"),
    "Latin-1": (GOOD.replace("Yard", "Yärd").encode("latin-1"), "L001"),
    "a line of 10 MB": (GOOD.encode() + b"#" * 10_000_000, "L002"),
    "a line of 100 kB": (GOOD.encode() + b"# " + b"x" * 100_000 + b"\n", "L002"),
    "10,000 deep": (b'show "Yard"\n' + b"".join(b" " * i + b"lamp a:\n" for i in range(1, 1400)), "L007"),
    "10,000 deep, one space and long": (b'show "Y"\n' + b"\n".join(b"\t" * i + b"a:" for i in range(1, 1900)), "L007"),
    "tabs among spaces": (changed("    1 s: glow off", "\t1 s: glow off"), "L005"),
    "a missing file": (changed('show "Yard"', 'show "Yard"\nuse "rig.show"'), "N014"),
    "a ring": (changed('show "Yard"', 'show "Yard"\nuse "yard.show"'), "N014"),
    "a path that climbs out": (changed('show "Yard"', 'show "Yard"\nuse "../other/rig.show"'), "N014"),
    "an absolute path": (changed('show "Yard"', 'show "Yard"\nuse "/etc/hostname"'), "N014"),
    "a count that overflows": (changed("0 s: glow on, horn plays call", "0 s: repeat 99999999999999999999 times:\n"
                                       "        0 s: glow on, horn plays call\n        100 ms: glow off"), "N010"),
    "repeats that multiply": (changed("1 s: glow off", "1 s: repeat 65535 times:\n        0 s: repeat "
                                      "65535 times every 100 ms:\n            0 s: glow off"), "C0"),
    "a number of 5,000 digits": (changed("1 s: glow off", f"{'9' * 1_900} s: glow off"), "L008"),
    "divided by zero": (changed("1 s: glow off", "1/0 s: glow off"), "L008"),
    "a table of numbers": (b"".join(b"%d;%d\n" % (i, i) for i in range(100_000)), "L015"),
    "a table of numbers with commas": (b"".join(b"%d,%d,none\n" % (i, i) for i in range(5_000)), "L015"),
    "no name of a file": (changed('show "Yard"', 'show "Yard"\nuse ""'), "N014"),
    "a folder": (changed('show "Yard"', 'show "Yard"\nuse "."'), "N014"),
    "a line of 2,000 characters that no single change mends": (
        GOOD.encode() + b"lamp eyes: " + b"on box pwm0 " * 160 + b": :\n", "L008"),
    "a name of 1,900 characters": (changed("lamp glow", f"lamp {'g' * 1_900}"), "N001"),
    "infinity": (changed("1 s: glow off", "inf s: glow off"), "L008"),
}


def cpu_of_children() -> float:
    """Processor seconds of what was run so far: the clock on the wall tells of the machine's other work."""
    if sys.platform == "win32":
        return time.monotonic()
    import resource

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def check(where: Path, *words: str) -> tuple[subprocess.CompletedProcess[str], float]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8"}
    limit = f"import resource; resource.setrlimit(resource.RLIMIT_AS, ({MOST_KB * 1024 * 4},) * 2)\n"
    start = cpu_of_children()
    ran = subprocess.run([sys.executable, "-c", limit + "from sequencer.cli import main; import sys; sys.exit(main())",
                          *words], cwd=where, env=environment, capture_output=True, text=True, timeout=60)
    return ran, cpu_of_children() - start


def wav(seconds: float, claimed: float | None = None) -> bytes:
    """A mono WAV of 8-bit samples at 8 kHz; its header may claim another length."""
    size, says = int(8000 * seconds), int(8000 * (claimed or seconds))
    head = b"RIFF" + struct.pack("<I", 36 + says) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, 8000, 8000, 1, 8)
    return head + b"data" + struct.pack("<I", says) + b"\x80" * size


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Path]:
    (tmp_path / "call.wav").write_bytes(wav(0.5))
    yield tmp_path


@pytest.mark.skipif(sys.platform == "win32", reason="the limit of memory is set by POSIX")
@pytest.mark.parametrize("name", CASES)
def test_each_gives_its_finding_and_an_exit_code(name: str, yard: Path) -> None:
    data, code = CASES[name]
    (yard / "yard.show").write_bytes(data)
    ran, took = check(yard, "check", "yard.show")
    assert ran.returncode in (1, 2), ran.stdout + ran.stderr
    assert code in ran.stdout, ran.stdout
    assert "Traceback" not in ran.stdout + ran.stderr
    assert ran.stdout.count("error ") == 1, ran.stdout
    assert took < LONGEST_S


def test_names_in_any_script_are_names(yard: Path) -> None:
    (yard / "yard.show").write_text(GOOD.replace("glow", "лампа").replace("step", "跳").replace("peep", "áéí"),
                                    encoding="utf-8")
    ran, _ = check(yard, "check", "yard.show")
    assert ran.returncode == 0, ran.stdout


def test_a_clip_that_lies_about_its_length_is_an_error(yard: Path) -> None:
    (yard / "call.wav").write_bytes(wav(0.5, claimed=3000.0))
    (yard / "yard.show").write_text(GOOD, encoding="utf-8")
    ran, _ = check(yard, "check", "yard.show")
    assert ran.returncode == 1
    assert "R009" in ran.stdout
    assert "0.5 s" in ran.stdout


def test_a_file_that_is_none_is_wrong_use(yard: Path) -> None:
    for name in (".", "no.show", "call.wav/x.show"):
        ran, _ = check(yard, "check", name)
        assert ran.returncode == 2, name
        assert "Traceback" not in ran.stderr


def test_nothing_is_written_and_nothing_is_flashed_where_the_check_fails(yard: Path) -> None:
    (yard / "yard.show").write_bytes(changed("1 s: glow off", "0 s: glow shines"))
    ran, _ = check(yard, "compile", "yard.show", "-o", "yard.bin")
    assert ran.returncode == 1
    ran, _ = check(yard, "flash", "yard.show", "--yes", "--port", f"virtual://bad?file={yard / 'memory'}")
    assert ran.returncode == 1
    assert {path.name for path in yard.iterdir()} == {"call.wav", "yard.show"}
    ran, _ = check(yard, "flash", "yard.show", "--yes", "--force")
    assert ran.returncode == 2
