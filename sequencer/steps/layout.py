"""The fixed parts of an encoded program: what stands at which byte of the header and of the table rows.

All numbers are unsigned, the low byte first. `encode`, `decode` and the tables of LAYOUT.md derive from here.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping

from sequencer.frozen import frozen

MAGIC = 0xA751
FORMAT_VERSION = 2
NONE = 0xFF
"""In a byte that names an input: no input."""

MOST_ROUTINES = 254
MOST_CLIPS = 255
MOST_PINS = 64


@frozen
class Part:
    """One number of a fixed row: its name, how many bytes it takes, and what it means."""

    name: str
    size: int
    doc: str


HEADER = (
    Part("magic", 2, "0xA751: bytes 51 A7"),
    Part("version", 1, f"format version, {FORMAT_VERSION}"),
    Part("board", 1, "kind of board"),
    Part("show_id", 4, "identity of the show"),
    Part("length", 2, "bytes of the whole image, this header included"),
    Part("outputs", 1, "rows of the output table, at most 64"),
    Part("inputs", 1, "rows of the input table, at most 64"),
    Part("routines", 1, "rows of the routine table, at most 254"),
    Part("clips", 1, "rows of the clip table, at most 255"),
    Part("heartbeat", 2, "longest time between two heartbeats while armed, ticks; 0: none asked for"),
    Part("crc", 4, "CRC-32 of all bytes of the image but these four"),
)
OUTPUT_ROW = (
    Part("pin", 1, "bits 0-5 pin; bit 6: can take levels between off and on; bit 7: active low"),
    Part("safe", 1, "safe level"),
    Part("alarm", 1, "level at a house alarm"),
    Part("longest_on", 1, "longest on-time in units of 500 ticks; 0: no limit"),
    Part("shortest_on", 1, "shortest on-time in units of 2 ticks"),
    Part("shortest_off", 1, "shortest off-time in units of 2 ticks"),
    Part("exclusion", 1, "exclusion group 1..15; 0: none"),
)
INPUT_ROW = (
    Part("pin", 1, "bits 0-5 pin; bit 6: 0; bit 7: low when tripped"),
    Part(
        "settle",
        2,
        "bits 0-13 settle time, ticks; bits 14-15 kind: 0 trigger, 1 end of travel, 2 stop, 3 alarm",
    ),
    Part("warm_up", 1, "warm-up in units of 1000 ticks"),
)
ROUTINE_ROW = (
    Part(
        "policy",
        1,
        "bits 0-1 running: 0 ignore, 1 restart, 2 once more; bit 2 idle; bit 3 own clock; bits 4-7 rank",
    ),
    Part("group", 1, "prop number; 255: whole yard"),
    Part("blocked", 1, "input that must clear between two starts; 255: none"),
    Part("rest", 3, "ticks after its end in which it does not start"),
    Part("starts", 1, "bits 0-6 number of start bytes at the head of its body; bit 7: starts at arming"),
    Part("body", 2, "where its body begins, counted from the start of the image"),
)
CLIP_ROW = (
    Part("output", 1, "output that plays it"),
    Part("length", 3, "length in ticks, at least 1"),
)
ROWS = {
    "Header": HEADER,
    "Output row": OUTPUT_ROW,
    "Input row": INPUT_ROW,
    "Routine row": ROUTINE_ROW,
    "Clip row": CLIP_ROW,
}

IDLE_BIT = 0x04
EVERY_BIT = 0x08
HIGH_BIT = 0x80
MOST_STARTS = 0x7F
MOST_SETTLE = 0x3FFF
FADES_BIT = 0x40
INDEX_BITS = 0x3F


def size_of(parts: tuple[Part, ...]) -> int:
    """How many bytes the row takes."""
    return sum(part.size for part in parts)


HEADER_SIZE = size_of(HEADER)
CRC_AT = HEADER_SIZE - 4


def pack(parts: tuple[Part, ...], values: Mapping[str, int]) -> bytes:
    """The bytes of a row. Raises ValueError, naming the part, where a value does not fit."""
    out = bytearray()
    for part in parts:
        value, most = values[part.name], (1 << (8 * part.size)) - 1
        if not 0 <= value <= most:
            raise ValueError(f"{part.name} is {value} as stored, and must lie in 0 to {most}")
        out += value.to_bytes(part.size, "little")
    return bytes(out)


def unpack(parts: tuple[Part, ...], data: bytes, at: int) -> dict[str, int]:
    """The values of the row that begins at `at`; the caller sees to it that it is there."""
    values = {}
    for part in parts:
        values[part.name] = int.from_bytes(data[at : at + part.size], "little")
        at += part.size
    return values


def image_crc(image: bytes) -> int:
    """CRC-32 (ISO-HDLC: 0x04C11DB7 reflected, start and final xor all ones) of all but itself."""
    return zlib.crc32(image[HEADER_SIZE:], zlib.crc32(image[:CRC_AT]))
