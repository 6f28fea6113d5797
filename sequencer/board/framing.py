"""Bytes on the line to checked packets and back: COBS, the zero that ends a packet, CRC-16/X-25.

What a packet means is left to `frames`. Nothing here knows of requests or answers.
"""

from __future__ import annotations

from collections.abc import Iterator

MOST_DECODED_BYTES = 60
"""Bytes of the longest packet, check included: a board with 2 KB of RAM holds one coming and one going."""
CHECK_BYTES = 2


def crc16_x25(data: bytes, start: int = 0) -> int:
    """CRC-16/X-25 of the bytes; `start` is the check of bytes that stand before them.

    Polynomial 0x1021 reflected (0x8408), initial value and final xor 0xFFFF. The final xor matters: without
    it, and without a length, zeros added at the end go unseen.
    Source: Catalogue of parametrised CRC algorithms, CRC-16/IBM-SDLC (alias X-25).

    >>> hex(crc16_x25(b"123456789"))
    '0x906e'
    """
    crc = start ^ 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8408 if crc & 1 else crc >> 1
    return crc ^ 0xFFFF


def cobs_encode(data: bytes) -> bytes:
    """The bytes rewritten so that none of them is zero, one byte longer up to 254 bytes.

    Source: Cheshire and Baker, Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking, 1999.

    >>> cobs_encode(bytes([0x11, 0x22, 0x00, 0x33])).hex()
    '0311220233'
    """
    out = bytearray(b"\x00")
    code_at = 0
    for position, byte in enumerate(data):
        if byte:
            out.append(byte)
        if byte == 0 or (len(out) - code_at == 0xFF and position + 1 < len(data)):
            out[code_at] = len(out) - code_at
            code_at = len(out)
            out.append(0)
    out[code_at] = len(out) - code_at
    return bytes(out)


def cobs_decode(data: bytes) -> bytes | None:
    """What `cobs_encode` was given, or None where the bytes cannot have come from it."""
    out = bytearray()
    position = 0
    while position < len(data):
        code = data[position]
        block = data[position + 1 : position + code]
        if code == 0 or len(block) != code - 1 or 0 in block:
            return None
        out += block
        position += code
        if code < 0xFF and position < len(data):
            out.append(0)
    return bytes(out)


def wrap(packet: bytes) -> bytes:
    """The packet as it goes on the line, with the zero that ends it."""
    assert 0 < len(packet) <= MOST_DECODED_BYTES
    return cobs_encode(packet) + b"\x00"


class PacketReader:
    """Cuts a stream of bytes into packets. Holds what has come of the packet under way, and no more."""

    __slots__ = ("_coming", "_too_long", "broken")

    def __init__(self) -> None:
        self._coming = bytearray()
        self._too_long = False
        self.broken = 0
        """Packets in a row that were not COBS or were too long; a whole one sets it to 0."""

    def feed(self, data: bytes) -> Iterator[bytes]:
        """Each whole packet that these bytes end, decoded; broken ones are counted and left out."""
        for byte in data:
            if byte:
                self._take(byte)
                continue
            packet = self._finish()
            if packet:
                yield packet

    def _take(self, byte: int) -> None:
        if len(self._coming) > MOST_DECODED_BYTES:
            self._too_long = True
        else:
            self._coming.append(byte)

    def _finish(self) -> bytes | None:
        encoded, too_long = bytes(self._coming), self._too_long
        self._coming.clear()
        self._too_long = False
        if not encoded:
            return None
        packet = None if too_long else cobs_decode(encoded)
        self.broken = 0 if packet else self.broken + 1
        return packet
