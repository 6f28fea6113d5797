"""Every frame of the table, there and back."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.board.frames import (
    MOST_BODY_BYTES,
    BrokenFrame,
    decode_answer,
    decode_request,
    encode_answer,
    encode_refusal,
    encode_request,
    fixed_size,
    pack,
    spec_of,
    unpack,
)  # fmt: skip
from sequencer.board.framing import MOST_DECODED_BYTES
from sequencer.board.protocol import (
    ARM,
    FRAMES,
    HEARTBEAT,
    PIECE,
    REFUSAL_FIELDS,
    REFUSALS,
    SEQUENCES,
    refusal_named,
    refusal_sentence,
)  # fmt: skip

BITS = {"u8": 8, "u16": 16, "u32": 32}


def values_of(fields):
    room = MOST_BODY_BYTES - fixed_size(fields)
    return st.fixed_dictionaries(
        {
            field.name: st.binary(max_size=room)
            if field.kind == "rest"
            else st.integers(0, (1 << BITS[field.kind]) - 1)
            for field in fields
        }
    )


@pytest.mark.parametrize("spec", FRAMES, ids=lambda spec: spec.name)
@given(data=st.data())
def test_a_request_and_its_answer_come_back(spec, data):
    values = data.draw(values_of(spec.request))
    sequence = data.draw(st.integers(0, SEQUENCES - 1))
    packet = encode_request(spec, sequence, values)
    assert len(packet) <= MOST_DECODED_BYTES
    request = decode_request(packet)
    assert (spec_of(request.number), request.sequence) == (spec, sequence)
    assert unpack(spec.request, request.body) == values
    told = data.draw(values_of(spec.answer))
    answer = decode_answer(request, encode_answer(request, pack(spec.answer, told)))
    assert not answer.refused
    assert unpack(spec.answer, answer.body) == told


@pytest.mark.parametrize("refusal", REFUSALS, ids=lambda refusal: refusal.name)
def test_a_refusal_comes_back_and_has_a_sentence(refusal):
    request = decode_request(encode_request(ARM, 3, {}))
    answer = decode_answer(request, encode_refusal(request, refusal.code, 480))
    assert answer.refused
    assert unpack(REFUSAL_FIELDS, answer.body) == {"code": refusal.code, "detail": 480}
    assert "{" not in refusal_sentence(refusal.code, 480)


def test_a_reason_this_tool_does_not_know_is_said_to_be_unknown():
    assert "does not know" in refusal_sentence(200, 0)
    with pytest.raises(KeyError):
        refusal_named("because")


@pytest.mark.parametrize("spec", FRAMES, ids=lambda spec: spec.name)
def test_a_frame_has_a_number_of_its_own_that_fits_its_five_bits(spec):
    assert 0 < spec.number < 24
    assert [other for other in FRAMES if other.number == spec.number] == [spec]


@pytest.mark.parametrize("spec", FRAMES, ids=lambda spec: spec.name)
def test_only_the_last_field_of_a_body_takes_the_rest_and_all_fit_a_packet(spec):
    for fields in (spec.request, spec.answer):
        assert all(field.kind != "rest" for field in fields[:-1])
        assert fixed_size(fields) <= MOST_BODY_BYTES


@given(st.binary(max_size=57), st.integers(0, 7), st.data())
def test_one_flipped_bit_is_always_seen(body, sequence, data):
    packet = bytearray(encode_request(PIECE, sequence, {"data": body}))
    bit = data.draw(st.integers(0, 8 * len(packet) - 1))
    packet[bit // 8] ^= 1 << bit % 8
    with pytest.raises(BrokenFrame):
        decode_request(bytes(packet))


@given(st.binary(max_size=57), st.binary(max_size=57))
def test_an_answer_that_says_done_belongs_to_the_very_bytes_that_were_sent(ours, other):
    mine = decode_request(encode_request(PIECE, 1, {"data": ours}))
    theirs = decode_request(encode_request(PIECE, 1, {"data": other}))
    if mine.check != theirs.check:
        with pytest.raises(BrokenFrame):
            decode_answer(mine, encode_answer(theirs, b""))


def test_an_answer_to_another_sequence_number_is_not_taken():
    first = decode_request(encode_request(HEARTBEAT, 1, {}))
    second = decode_request(encode_request(HEARTBEAT, 2, {}))
    with pytest.raises(BrokenFrame):
        decode_answer(second, encode_answer(first, b""))


@pytest.mark.parametrize("spec", FRAMES, ids=lambda spec: spec.name)
def test_a_line_that_sends_back_what_it_hears_is_not_a_board(spec):
    values = {field.name: b"" if field.kind == "rest" else 0 for field in spec.request}
    packet = encode_request(spec, 1, values)
    with pytest.raises(BrokenFrame):
        decode_answer(decode_request(packet), packet)


@given(st.binary(max_size=60))
def test_any_packet_is_read_or_refused_as_broken(packet):
    for read in (decode_request, lambda it: decode_answer(decode_request(encode_request(ARM, 0, {})), it)):
        with suppress(BrokenFrame):
            read(packet)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({}, "missing"),
        ({"data": 3}, "takes bytes"),
        ({"data": b"", "more": 1}, "no field"),
        ({"data": b"x" * 58}, "58"),
    ],
)
def test_values_that_do_not_fit_a_body_are_named(values, says):
    with pytest.raises(ValueError, match=says):
        encode_request(PIECE, 0, values)


def test_a_number_too_large_for_its_field_is_refused():
    with pytest.raises(ValueError, match="0 to 255"):
        pack(REFUSAL_FIELDS, {"code": 256, "detail": 0})


def test_a_body_too_short_or_too_long_is_broken():
    for body in (b"\x01", b"\x01\x02\x03\x04"):
        with pytest.raises(BrokenFrame):
            unpack(REFUSAL_FIELDS, body)
