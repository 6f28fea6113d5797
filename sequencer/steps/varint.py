"""Numbers of one to four bytes: unsigned LEB128, seven bits a byte, the lowest first, bit 7 set on all but
the last.

The form is that of the DWARF debugging format (version 5, section 7.6), held to four bytes and to the
shortest form.
"""

from __future__ import annotations

from sequencer.steps.table import VARINT_MOST


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
