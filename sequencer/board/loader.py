"""Firmware onto a board: a file of machine code -> the general AVR loader's command, run.

Which chip a file is for is read from the file: its interrupt table, one jump a vector, is as long as the chip has
vectors. The loader itself asks the chip who it is before it writes. Nothing here speaks to the board's own program.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.errors import BoardError

LOADER = "avrdude"
_LONGEST_S = 300
_JUMP = b"\x0c\x94"


class BadFirmware(BoardError):
    """The file is no firmware for a board there is."""


class LoaderMissing(BoardError):
    """The loader is not installed; the sentence says what to do."""


class LoaderFailed(BoardError):
    """The loader gave up; `words` is what it said last."""

    def __init__(self, port: str, words: str) -> None:
        super().__init__(
            f"The loader could not write the firmware to {port}: {words.rstrip('.')}. "
            "Close other programs on the port; a board without a boot loader needs a programmer at its six pins."
        )
        self.words = words


@dataclass(frozen=True, slots=True)
class Target:
    """How the loader names a chip, and speaks to the boot loader that the common boards with it have (from memory)."""

    board: str
    vectors: int
    words: tuple[str, ...]


TARGETS = (
    Target("avr328", 26, ("-p", "m328p", "-c", "arduino", "-b", "115200")),
    Target("avr2560", 57, ("-p", "m2560", "-c", "wiring", "-b", "115200", "-D")),
)
"""Vectors: ATmega328P and ATmega2560 data sheets, tables of reset and interrupt vectors."""


def firmware_of(path: Path) -> tuple[Target, bytes]:
    """The chip that a file in Intel HEX is for, and its bytes. Raises BadFirmware; OSError where it cannot be read."""
    try:
        code = bytes_of_hex(path.read_text(encoding="ascii"))
    except (UnicodeDecodeError, ValueError) as fault:
        raise BadFirmware(f"{path} is not firmware: {fault}.") from None
    jumps = 0
    while code[4 * jumps : 4 * jumps + 2] == _JUMP:
        jumps += 1
    target = next((one for one in TARGETS if one.vectors == jumps), None)
    if target is None:
        raise BadFirmware(
            f"{path} is not firmware for a board of this tool: its interrupt table has {jumps} jumps, and "
            + " and ".join(f"{one.board} takes {one.vectors}" for one in TARGETS)
            + "."
        )
    return target, code


def bytes_of_hex(text: str) -> bytes:
    """The bytes of a file in Intel HEX, from address 0. Raises ValueError with what is wrong, and in which line.

    Source: Intel, Hexadecimal Object File Format Specification, revision A, 1988.

    >>> bytes_of_hex(":0400000001020304F2\\n:00000001FF\\n").hex()
    '01020304'
    """
    cells: dict[int, int] = {}
    base, ended = 0, False
    for number, line in enumerate(text.split(), 1):
        if ended or not line.startswith(":"):
            raise ValueError(f"line {number} is no record of Intel HEX")
        try:
            record = bytes.fromhex(line[1:])
        except ValueError:
            raise ValueError(f"line {number} has characters that are no hexadecimal digits") from None
        if len(record) < 5 or len(record) != record[0] + 5 or sum(record) % 256:
            raise ValueError(f"line {number} is cut off or its checksum is wrong")
        address, kind, data = int.from_bytes(record[1:3], "big"), record[3], record[4:-1]
        if kind == 0:
            cells.update({base + address + n: byte for n, byte in enumerate(data)})
        elif kind == 1:
            ended = True
        elif kind in (2, 4):
            base = int.from_bytes(data, "big") << (4 if kind == 2 else 16)
    if not ended or not cells:
        raise ValueError("it has no end, or holds nothing")
    return bytes(cells.get(at, 0xFF) for at in range(max(cells) + 1))


def loader_command(target: Target, path: Path, port: str) -> list[str]:
    """The words by which the loader writes the file, and reads it back."""
    return [LOADER, "-q", *target.words, "-P", port, "-U", f"flash:w:{path}:i"]


def load_firmware(path: Path, port: str) -> Target:
    """Writes the firmware in the file to the chip on that port. Raises BoardError."""
    target, _ = firmware_of(path)
    command = loader_command(target, path, port)
    if shutil.which(LOADER) is None:
        raise LoaderMissing(
            f"The loader {LOADER} is not installed; install it (on Debian: `sudo apt install {LOADER}`) and give this "
            f"command again, or run it elsewhere by hand: `{' '.join(command)}`."
        )
    try:
        done = subprocess.run(command, capture_output=True, text=True, errors="replace", timeout=_LONGEST_S)
    except subprocess.TimeoutExpired:
        raise LoaderFailed(port, f"it has not ended after {_LONGEST_S} s") from None
    if done.returncode != 0:
        said = [line.strip() for line in (done.stdout + done.stderr).splitlines() if line.strip()]
        raise LoaderFailed(port, next((line for line in reversed(said) if "rror" in line), said[-1] if said else "?"))
    return target
