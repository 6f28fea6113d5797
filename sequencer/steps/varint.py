"""Numbers that take as many bytes as they need: plain ones (counts, distances) and times in ticks.

A plain number is unsigned LEB128 as in the DWARF debugging format (version 5, section 7.6), seven bits a byte, the
lowest first, held to four bytes and to the shortest form. A time has a byte of its own for what people write most.
"""

from __future__ import annotations

VARINT_MOST = (1 << 28) - 1
"""The largest number that four 7-bit groups carry: 74 h of ticks."""

TIME_UNIT = 50
"""Ticks that a time of one byte counts in: cue sheets are mostly written in twentieths of a second."""

_ONE_BYTE = 0x80
_LONG_TIME = 0xFF


def write_varint(value: int) -> bytes:
    """The bytes of a number. Raises ValueError outside 0 to 268435455.

    >>> write_varint(12857).hex(" ")
    'b9 64'
    """
    if not 0 <= value <= VARINT_MOST:
        raise ValueError(f"{value} does not fit a number of four bytes (0 to {VARINT_MOST})")
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    out.append(value)
    return bytes(out)


def read_varint(data: bytes, at: int) -> tuple[int, int]:
    """The number that begins at `at`, and where the next byte is.

    Raises ValueError where it is cut off, longer than four bytes, or not in its shortest form.

    >>> read_varint(bytes([0xB9, 0x64]), 0)
    (12857, 2)
    """
    value = 0
    for i in range(4):
        if at + i >= len(data):
            raise ValueError("a number is cut off")
        byte = data[at + i]
        value |= (byte & 0x7F) << (7 * i)
        if byte < 0x80:
            if byte == 0 and i:
                raise ValueError("a number is not in its shortest form")
            return value, at + i + 1
    raise ValueError("a number is longer than four bytes")


def write_time(ticks: int) -> bytes:
    """The bytes of a time, as few as there are for it. Raises ValueError outside 0 to 268435455 ticks.

    >>> write_time(2500).hex(" "), write_time(2501).hex(" "), write_time(90_000).hex(" ")
    ('32', '89 c5', 'ff 90 bf 05')
    """
    if 0 <= ticks < _ONE_BYTE * TIME_UNIT and ticks % TIME_UNIT == 0:
        return bytes([ticks // TIME_UNIT])
    high = _ONE_BYTE + (ticks >> 8)
    if _ONE_BYTE <= high < _LONG_TIME:
        return bytes([high, ticks & 0xFF])
    return bytes([_LONG_TIME]) + write_varint(ticks)


def read_time(data: bytes, at: int) -> tuple[int, int]:
    """The ticks of the time that begins at `at`, and where the next byte is.

    Raises ValueError where it is cut off, too long, or not in its shortest form.

    >>> read_time(bytes([0x89, 0xC5]), 0)
    (2501, 2)
    """
    if at >= len(data):
        raise ValueError("a time is cut off")
    first = data[at]
    if first < _ONE_BYTE:
        return first * TIME_UNIT, at + 1
    if first == _LONG_TIME:
        ticks, after = read_varint(data, at + 1)
    elif at + 1 < len(data):
        ticks, after = (first - _ONE_BYTE) << 8 | data[at + 1], at + 2
    else:
        raise ValueError("a time is cut off")
    if write_time(ticks) != data[at:after]:
        raise ValueError("a time is not in its shortest form")
    return ticks, after
