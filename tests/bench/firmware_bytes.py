"""Where the flash of the small board's firmware goes: bytes by module, of the image as it ships but for its lines.

    python tests/bench/firmware_bytes.py

Each instruction counts for the source line that it was made of, wherever it was put together with others. Figures are
printed, not asserted.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from collections import Counter
from pathlib import Path

FIRMWARE = Path(__file__).parents[2] / "firmware_stub"
REST = "tables of vectors and constants, the compiler's library"
PARTS = {
    "steps": "steps",
    "routines, triggers, slots": "routines triggers slots standing",
    "outputs and their effects": "outputs effects",
    "inputs, modes, order of a tick": "inputs machine tick core",
    "numbers and rows read, random draws, log": "image random32 log",
    "proof of a program": "proof proof_format proof_tables proof_flow decode",
    "link": "packets link requests requests_tick crc",
    "lasting memory": "memory store",
    "pins, timers, UART, start": "avr_board avr_pins avr328 wdt atomic",
}


def tool(*words: str, told: str = "") -> str:
    return subprocess.run(words, input=told, capture_output=True, text=True, check=True).stdout


def bytes_by_file(image: Path) -> Counter[str]:
    """Bytes of instructions by the stem of the file; what has no line counts for ""."""
    row = re.compile(r"^\s+([0-9a-f]+):\t((?:[0-9a-f]{2} )+)", re.MULTILINE)
    found = row.findall(tool("avr-objdump", "-d", str(image)))
    lines = tool("avr-addr2line", "-e", str(image), told="\n".join(at for at, _ in found)).splitlines()
    count: Counter[str] = Counter()
    for (_, code), line in zip(found, lines, strict=True):
        name = line.rpartition(":")[0].rpartition("/")[2]
        count["" if "?" in name else name.partition(".")[0]] += len(code.split())
    return count


def main() -> None:
    """Builds the image with its lines, and prints the table."""
    with tempfile.TemporaryDirectory() as folder:
        # With its lines an image has come out up to four bytes larger than without.
        tool("make", "-C", str(FIRMWARE), "avr328", f"BUILD={folder}", "WARNINGS=-g")
        image = Path(folder) / "avr328.elf"
        count = bytes_by_file(image)
        sizes = dict(re.findall(r"^\.(data|text)\s+(\d+)", tool("avr-size", "-A", "-d", str(image)), re.MULTILINE))
    flash = sum(map(int, sizes.values()))
    parts = {part: sum(count.pop(stem, 0) for stem in stems.split()) for part, stems in PARTS.items()}
    parts[REST] = flash - sum(parts.values())
    print("| of the flash, avr328 | bytes |\n|---|---|")
    for part, size in sorted(parts.items(), key=lambda one: -one[1]):
        print(f"| {part} | {size:,} |")
    print(f"| all | {flash:,} |")
    count.pop("", None)
    if count:
        print(f"\nfiles of no part: {', '.join(count)}")


if __name__ == "__main__":
    main()
