"""The fuzzers of the frame decoder and of the program decoder: built with the sanitizers, seeded, run for a time."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import zlib
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.frames import encode_request
from sequencer.board.profiles import AVR328
from sequencer.board.protocol import FRAMES
from tests.firmware.core.bench import CORE, RULES
from tests.firmware.core.proofs import FILES
from tests.firmware.core.uploads import program_of
from tests.firmware.core.whole import EVERY_FILE
from tests.firmware.images import image_for

HERE = Path(__file__).parent
SANITIZERS = "-fsanitize=fuzzer,address,undefined"


@dataclass(frozen=True, slots=True)
class Fuzzer:
    """A fuzzer: its file, the files of the core and the boards that it is built with."""

    name: str
    core: tuple[str, ...]
    boards: tuple[Path, ...] = ()


FUZZERS = (
    Fuzzer("fuzz_frames", EVERY_FILE, (HERE.parent / "core" / "whole_board.c",)),
    Fuzzer("fuzz_program", tuple(dict.fromkeys((*RULES, *FILES)))),
)


def build_fuzzer(fuzzer: Fuzzer, folder: Path) -> Path:
    """Compiles it for the small board, any undefined behaviour being fatal."""
    compiler = shutil.which("clang")
    assert compiler, "the fuzzers need clang with its sanitizers"
    target = folder / fuzzer.name
    subprocess.run(
        [
            compiler, "-std=c11", "-O1", "-g", SANITIZERS, "-fno-sanitize-recover=all",
            f"-DBOARD_KIND={AVR328.kind}", f"-I{CORE}", f"-I{HERE}", str(HERE / f"{fuzzer.name}.c"),
            *(str(CORE / f"{name}.c") for name in fuzzer.core), *map(str, fuzzer.boards), "-o", str(target),
        ],
        check=True,
    )  # fmt: skip
    return target


def seed_corpus(fuzzer: Fuzzer, folder: Path) -> Path:
    """Inputs to begin with: images of random programs, or a conversation with every request in it."""
    corpus = folder / f"{fuzzer.name}_corpus"
    corpus.mkdir()
    if fuzzer.name == "fuzz_program":
        for seed in range(60):
            (corpus / str(seed)).write_bytes(image_for(random.Random(seed), AVR328))
    else:
        (corpus / "all").write_bytes(_conversation())
    return corpus


def _conversation() -> bytes:
    """A whole upload, then every request, each with a body of the size it takes."""
    image = program_of(AVR328, 1, 20)
    head = bytes([AVR328.kind]) + len(image).to_bytes(2, "little") + zlib.crc32(image).to_bytes(4, "little")
    out = bytearray(b"\x00") + _message(bytes([2 << 3]) + head)
    for at in range(0, len(image), 57):
        out += _message(bytes([3 << 3]) + image[at : at + 57])
    for request in (4, 5, 6, 8):
        out += _message(bytes([request << 3]))
    for spec in FRAMES:
        values = {field.name: b"ab" if field.kind == "rest" else 1 for field in spec.request}
        out += _message(encode_request(spec, 0, values)[:-2])
    return bytes(out)


def _message(content: bytes) -> bytes:
    return bytes([len(content)]) + content


def run_fuzzer(program: Path, corpus: Path, seconds: int, seed: int = 1) -> tuple[int, str]:
    """Runs it for so long. How many inputs it tried, and what it found: nothing, or its report."""
    done = subprocess.run(
        [str(program), f"-max_total_time={seconds}", f"-seed={seed}", "-max_len=600", "-timeout=10",
         f"-artifact_prefix={corpus.parent}/", str(corpus)],
        capture_output=True, text=True, errors="replace", check=False,
    )  # fmt: skip
    runs = re.search(r"Done (\d+) runs", done.stderr)
    if done.returncode != 0 or runs is None:
        return 0, done.stderr[-4000:]
    return int(runs.group(1)), ""
