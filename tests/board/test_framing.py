"""COBS, the zero that ends a packet, and the check."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.board.framing import (
    MOST_DECODED_BYTES,
    PacketReader,
    cobs_decode,
    cobs_encode,
    crc16_x25,
    wrap,
)


def test_the_check_has_its_published_value():
    """Catalogue of parametrised CRC algorithms: CRC-16/IBM-SDLC (X-25), check 0x906E."""
    assert crc16_x25(b"123456789") == 0x906E


def test_the_check_leaves_its_published_residue():
    """The same catalogue: residue 0xF0B8, before the final xor, of any message followed by its check."""
    message = b"the 21:40 from Marrow Lane"
    assert crc16_x25(message + crc16_x25(message).to_bytes(2, "little")) ^ 0xFFFF == 0xF0B8


@given(st.binary(max_size=60), st.binary(max_size=60))
def test_a_check_goes_on_where_another_ended(first, second):
    assert crc16_x25(second, crc16_x25(first)) == crc16_x25(first + second)


@given(st.binary(max_size=50), st.integers(1, 8))
def test_zeros_added_at_the_end_are_seen(message, count):
    """What the final xor is for: without it, zeros after a message and its check leave the residue 0."""
    with_check = message + crc16_x25(message).to_bytes(2, "little")
    longer = with_check + bytes(count)
    assert crc16_x25(longer[:-2]).to_bytes(2, "little") != longer[-2:]


RUN = bytes(range(1, 255))
EXAMPLES = [
    (b"\x00", b"\x01\x01"),
    (b"\x00\x00", b"\x01\x01\x01"),
    (b"\x00\x11\x00", b"\x01\x02\x11\x01"),
    (b"\x11\x22\x00\x33", b"\x03\x11\x22\x02\x33"),
    (b"\x11\x22\x33\x44", b"\x05\x11\x22\x33\x44"),
    (b"\x11\x00\x00\x00", b"\x02\x11\x01\x01\x01"),
    (RUN, b"\xff" + RUN),
    (b"\x00" + RUN, b"\x01\xff" + RUN),
    (RUN + b"\xff", b"\xff" + RUN + b"\x02\xff"),
    (RUN[1:] + b"\xff\x00", b"\xff" + RUN[1:] + b"\xff\x01\x01"),
    (RUN[2:] + b"\xff\x00\x01", b"\xfe" + RUN[2:] + b"\xff\x02\x01"),
]


@pytest.mark.parametrize(("plain", "encoded"), EXAMPLES)
def test_cobs_is_as_in_the_worked_examples(plain, encoded):
    """Cheshire and Baker 1999, by the worked examples of the encyclopaedia article on COBS, from memory."""
    assert cobs_encode(plain) == encoded
    assert cobs_decode(encoded) == plain


@given(st.binary(max_size=600))
def test_cobs_comes_back_without_a_zero_and_with_little_on_top(data):
    encoded = cobs_encode(data)
    assert 0 not in encoded
    assert len(encoded) <= len(data) + 1 + len(data) // 254
    assert cobs_decode(encoded) == data


@given(st.binary(max_size=80))
def test_any_bytes_decode_or_are_refused(data):
    decoded = cobs_decode(data)
    assert decoded is None or len(decoded) <= len(data)


@given(st.lists(st.binary(min_size=1, max_size=MOST_DECODED_BYTES), max_size=6), st.data())
def test_packets_come_out_as_they_went_in_however_the_line_cuts_them(packets, data):
    wire = b"".join(wrap(packet) for packet in packets)
    reader, found, position = PacketReader(), [], 0
    while position < len(wire):
        step = data.draw(st.integers(1, len(wire) - position))
        found += reader.feed(wire[position : position + step])
        position += step
    assert found == packets


def test_what_is_too_long_is_dropped_and_the_next_packet_is_whole():
    reader = PacketReader()
    assert list(reader.feed(b"\x55" * 5000 + b"\x00")) == []
    assert reader.broken == 1
    assert list(reader.feed(wrap(b"stop"))) == [b"stop"]
    assert reader.broken == 0


def test_a_packet_of_61_bytes_is_too_long_even_where_it_is_cobs():
    assert list(PacketReader().feed(cobs_encode(b"x" * 61) + b"\x00")) == []
    assert list(PacketReader().feed(cobs_encode(b"x" * 60) + b"\x00")) == [b"x" * 60]
