"""Programs to bytes and back; bytes that are no program."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.steps import (
    BadProgram,
    CannotEncode,
    Clip,
    Edge,
    Input,
    InputKind,
    Limits,
    Output,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
    decode,
    encode,
    layout,
    step,
)
from sequencer.steps.encode import encode_steps, step_places
from sequencer.steps.forms import read, write
from sequencer.steps.random_program import random_program
from sequencer.steps.table import BY_FIRST_BYTE, BY_NAME, ROWS, Field, Kind, Row, argument_fault

ROOMY = Limits(program_bytes=4000, outputs=40, inputs=14)
Build = Callable[..., Program]

# Steps in every form of every row, a different number a field, their bytes worked out by hand from LAYOUT.md.
BY_HAND = [
    ("set 5 1", "c5"), ("set 63 0", "bf"), ("set 0 0", "80"), ("set 63 1", "ff"),
    ("wait 100", "50"), ("wait 1600", "5f"), ("wait 1", "4001"), ("wait 1700", "46a4"), ("wait 4095", "4fff"),
    ("wait 4096", "019000"), ("wait 4100", "0152"), ("wait 6350", "017f"), ("wait 32511", "01feff"),
    ("wait 32512", "01ff80fe01"), ("end", "00"),
    ("until 300", "0206"), ("until 0", "0200"), ("until 301", "02812d"),
    ("wait_random 5 200", "03800504"), ("wait_random 5000 4000", "036450"),
    ("await_input 3 1 4", "04838004"), ("await_end 3 0 150", "050303"),
    ("level 2 77", "06024d"),
    ("fade 2 255 400", "22ff08"), ("fade 2 0 400", "6208"), ("fade 15 1 401", "2f018191"), ("fade 16 0 50", "07100001"),
    ("fade_then 2 255 400", "32ff08"), ("fade_then 15 0 1848", "7f8738"), ("fade_then 63 9 50", "193f0901"),
    ("pulse 1 120", "08018078"), ("flash 1 7 90", "09018007805a"), ("flicker 1 10 20 130", "0a010a148082"),
    ("play 0", "1c"), ("play 3", "1f"), ("play 4", "0b04"),
    ("silence 4", "0c04"), ("start 6", "0d06"), ("stop 7", "0e07"),
    ("repeat 1000", "0fe807"), ("repeat_for 6000", "1078"), ("repeat_until 2 1 10", "1182800a"), ("again", "12"),
    ("chance 3 4 0", "1a2300"), ("chance 16 16 0", "1aff00"), ("chance 3 17 0", "13031100"),
    ("skip_unless 1 1 0", "148100"), ("skip_but_nth 3 0", "150300"), ("jump 0", "1600"),
    ("mark", "17"), ("unmark", "18"),
]  # fmt: skip


def made(text: str) -> Step:
    op, *args = text.split()
    return step(op, *map(int, args))


def sealed(image: bytes) -> bytes:
    """The image with its length and checksum made right again."""
    image = image[:8] + len(image).to_bytes(2, "little") + image[10:]
    crc = layout.image_crc(image).to_bytes(4, "little")
    return image[: layout.CRC_AT] + crc + image[layout.HEADER_SIZE :]


@pytest.mark.parametrize(("text", "octets"), BY_HAND)
def test_every_step_has_the_bytes_that_the_layout_says(text: str, octets: str) -> None:
    chunk, _ = encode_steps((made(text), step("end")))
    assert chunk.hex() == octets


def test_the_bytes_of_every_form_of_every_row_are_checked_by_hand() -> None:
    written = {bytes.fromhex(octets)[0] for _, octets in BY_HAND}
    for row in ROWS:
        for form in row.forms:
            assert written & set(form.first_bytes), (row.name, form)


def any_step(row: Row) -> st.SearchStrategy[Step]:
    """A step of that row; its numbers are as often those of cue sheets as any others."""
    return st.tuples(*map(any_value, row.fields)).map(lambda args: Step(row.name, args)).filter(
        lambda made: argument_fault(made) is None
    )


def any_value(field: Field) -> st.SearchStrategy[int]:
    least, most = field.kind.least, 0 if field.kind is Kind.SKIP else field.kind.most
    usual = (*range(0, 70), *range(0, 8000, 50), 254, 255, 4095, 4096, 32_511, 32_512)
    return st.one_of(st.sampled_from([n for n in usual if least <= n <= most]), st.integers(least, most))


STEPS = st.sampled_from(ROWS).flatmap(any_step)


@given(STEPS)
def test_a_step_is_written_in_the_shortest_of_its_forms(step_made: Step) -> None:
    row = BY_NAME[step_made.op]
    values = dict(zip((field.name for field in row.fields), step_made.args, strict=True))
    written = [chunk for chunk in (write(form, values) for form in row.forms) if chunk is not None]
    chunk, _ = encode_steps((step_made, step("end")))
    assert len(chunk) == min(map(len, written))
    for form, found in ((form, write(form, values)) for form in row.forms):
        if found is not None:
            assert read(form, found, 0) == (values, len(found))


def decoded_steps(body: bytes) -> tuple[Step, ...]:
    """The steps of a body, through a whole image around it."""
    image = encode(Program(1, 1, routines=(Routine((step("end"),)),)))
    return decode(sealed(image + body)).routines[0].steps


@given(st.lists(STEPS, max_size=8))
def test_any_steps_decode_to_themselves(steps: list[Step]) -> None:
    whole = (*steps, step("end"))
    assert decoded_steps(b"".join(encode_steps(whole))) == whole


@given(STEPS)
def test_a_step_in_a_longer_form_is_refused(made_step: Step) -> None:
    row = BY_NAME[made_step.op]
    values = dict(zip((field.name for field in row.fields), made_step.args, strict=True))
    right, _ = encode_steps((made_step, step("end")))
    for chunk in (write(form, values) for form in row.forms):
        if chunk not in (None, right):
            with pytest.raises(BadProgram, match="shortest form"):
                decoded_steps(chunk)


@pytest.mark.parametrize("first", range(256))
@given(follows=st.binary(max_size=12))
@settings(max_examples=8, deadline=None)
def test_every_first_byte_begins_a_step_or_is_refused(first: int, follows: bytes) -> None:
    body = bytes([first]) + follows
    try:
        steps = decoded_steps(body)
    except BadProgram as fault:
        assert fault.reason
    else:
        assert first in BY_FIRST_BYTE
        assert b"".join(encode_steps(steps)) == body


def test_every_first_byte_is_of_one_form_and_only_one_is_still_free() -> None:
    claimed = [first for row in ROWS for form in row.forms for first in form.first_bytes]
    assert len(claimed) == len(set(claimed))
    assert set(range(256)) - set(claimed) == {0x1B}


def test_the_end_of_a_routine_takes_no_byte_and_an_end_elsewhere_one() -> None:
    steps = tuple(map(made, ("skip_unless 1 1 1", "end", "set 0 1", "end")))
    assert [chunk.hex() for chunk in encode_steps(steps)] == ["148101", "00", "c0", ""]
    assert decoded_steps(bytes.fromhex("14810100c0")) == steps
    over_all = tuple(map(made, ("skip_unless 1 1 1", "set 0 1", "end")))
    assert decoded_steps(b"".join(encode_steps(over_all))) == over_all


def test_a_routine_without_its_end_has_no_bytes() -> None:
    for steps in ((), (step("set", 0, 1),), (step("end"), step("wait", 5))):
        with pytest.raises(CannotEncode, match="last step of a routine is an end"):
            encode_steps(steps)


def test_a_program_without_routines_decodes() -> None:
    program = Program(1, 7, (Output(1),), (Input(2),), (), (Clip(0, 9),))
    assert decode(encode(program)) == program
    with pytest.raises(BadProgram, match="belong to no routine"):
        decode(sealed(encode(program) + b"\x00"))


def test_skips_count_steps_in_a_program_and_bytes_in_its_image() -> None:
    steps = tuple(map(made, ("skip_unless 1 1 2", "wait 90000", "fade 0 9 300", "end")))
    chunks = encode_steps(steps)
    assert chunks[0].hex() == "148108"
    assert len(chunks[1] + chunks[2]) == 8


def test_the_checksum_has_the_published_check_value() -> None:
    # CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms (reveng): check 0xCBF43926.
    text = b"123456789"
    image = text[:5] + text[5:]
    padded = image.ljust(layout.CRC_AT, b"\0")
    assert layout.image_crc(padded) == _crc_bit_by_bit(padded)
    assert _crc_bit_by_bit(text) == 0xCBF43926


def _crc_bit_by_bit(data: bytes) -> int:
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xEDB88320 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def test_the_checksum_of_an_image_covers_all_but_itself(
    program: Build, routine: Callable[..., Routine]
) -> None:
    image = encode(program(routine("set 0 1", "wait 5")))
    assert int.from_bytes(image[16:20], "little") == _crc_bit_by_bit(image[:16] + image[20:])


def test_a_small_program_has_the_bytes_worked_out_by_hand() -> None:
    program = Program(
        1,
        0x01020304,
        (Output(3, True, True, 0, 255, 2500, 20, 40, 2),),
        (Input(5, True, InputKind.STOP, 20, 45000),),
        (
            Routine(
                (step("set", 0, 1), step("end")),
                (Start(0, Edge.TRIPS),),
                (90000, 150000),
                False,
                4,
                WhileRunning.ONCE_MORE,
                25000,
                7,
                0,
            ),
        ),
        (Clip(0, 1500),),
        2000,
    )
    image = encode(program)
    assert image[:8].hex() == "51a7020104030201"
    assert image[8:16].hex() == "340001010101d007"
    assert image[20:27].hex() == "c300ff050a1402"
    assert image[27:31].hex() == "8514802d"
    assert image[31:40].hex() == "7a0400a86100012c00"
    assert image[40:44].hex() == "00dc0500"
    assert image[44:].hex() == "80" + "90bf05" + "f09309" + "c0"
    assert decode(image) == program


@settings(max_examples=120, deadline=None)
@given(st.integers(0, 2**32))
def test_what_is_encoded_decodes_to_the_same_program(seed: int) -> None:
    program = random_program(random.Random(seed), ROOMY)
    assert decode(encode(program)) == program


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 40), st.data())
def test_a_broken_image_raises_only_its_own_error(seed: int, data: st.DataObject) -> None:
    image = bytearray(encode(random_program(random.Random(seed), ROOMY)))
    for _ in range(data.draw(st.integers(1, 3))):
        image[data.draw(st.integers(0, len(image) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(0, len(image)))
    for broken in (bytes(image), bytes(image[:cut]), bytes(image) + b"\0"):
        for bytes_given in (broken, sealed(broken) if len(broken) >= layout.HEADER_SIZE else broken):
            try:
                program = decode(bytes_given)
            except BadProgram as fault:
                assert 0 <= fault.offset <= len(bytes_given)
                assert fault.reason
            else:
                assert encode(program) == bytes_given


@given(st.binary(max_size=60))
def test_arbitrary_bytes_raise_only_their_own_error(noise: bytes) -> None:
    with pytest.raises(BadProgram):
        decode(noise)


def test_every_single_bit_that_flips_is_noticed(program: Build, routine: Callable[..., Routine]) -> None:
    image = encode(program(routine("set 0 1", "wait 5")))
    for bit in range(len(image) * 8):
        flipped = bytearray(image)
        flipped[bit // 8] ^= 1 << bit % 8
        with pytest.raises(BadProgram):
            decode(bytes(flipped))


BODY = layout.HEADER_SIZE + 7 + 4 + 9 + 4


@pytest.fixture
def image() -> bytes:
    """One output, input, clip and routine, whose body begins at BODY with a start byte."""
    steps = tuple(map(made, ("skip_unless 0 1 1", "set 0 1", "wait 5", "end")))
    return encode(
        Program(1, 1, (Output(1),), (Input(2),), (Routine(steps, (Start(0),)),), (Clip(0, 9),)),
    )


@pytest.mark.parametrize(
    ("at", "octets", "reason"),
    [
        (0, "00", "does not begin"),
        (2, "01", "format version 1; 2 is"),
        (10, "41", "65 outputs"),
        (13, "09", "runs past the end"),
        (13, "00", "belong to no routine"),
        (26, "10", "exclusion group 16"),
        (27, "42", "means nothing"),
        (31, "03", "policy"),
        (33, "40", "blocked by the input 64"),
        (37, "09", "means nothing"),
        (38, "ff", "belong to no routine"),
        (40, "40", "output 64"),
        (41, "000000", "no length"),
        (BODY, "c0", "means nothing"),
        (BODY + 1, "1b", "no step begins with the byte 27"),
        (BODY + 2, "c1", "input of the step skip_unless is 65"),
        (BODY + 3, "02", "no step of its routine begins"),
        (BODY + 3, "8000", "shortest form"),
        (BODY + 5, "4000", "ticks of the step wait is 0"),
        (BODY + 5, "c041", "step wait, a byte is cut off"),
        (BODY + 5, "c006", "step level, a byte is cut off"),
        (BODY + 5, "c002", "step until, a time is cut off"),
        (BODY + 3, "04", "no step of its routine begins"),
    ],
)
def test_a_malformed_image_is_refused_in_words(image: bytes, at: int, octets: str, reason: str) -> None:
    patch = bytes.fromhex(octets)
    broken = sealed(image[:at] + patch + image[at + len(patch) :])
    with pytest.raises(BadProgram, match=reason):
        decode(broken)


def test_a_wrong_length_or_checksum_is_refused(image: bytes) -> None:
    with pytest.raises(BadProgram, match="says it has"):
        decode(image + b"\0")
    with pytest.raises(BadProgram, match="checksum"):
        decode(image[:-1] + b"\x01")


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"outputs": (Output(64),)}, "pin of output 0 is 64"),
        ({"outputs": (Output(1, longest_on=700),)}, "units of 500"),
        ({"outputs": (Output(1, longest_on=128_000),)}, "0 to 127500"),
        ({"outputs": (Output(1, shortest_on=3),)}, "units of 2"),
        ({"outputs": (Output(1, shortest_off=512),)}, "0 to 510"),
        ({"outputs": (Output(1, safe=256),)}, "safe is 256"),
        ({"outputs": (Output(1, exclusion=16),)}, "exclusion group"),
        ({"inputs": (Input(1, settle=16384),)}, "settle time"),
        ({"inputs": (Input(1, warm_up=1500),)}, "units of 1000"),
        ({"clips": (Clip(0, 0),)}, "no length"),
        ({"heartbeat": 65536}, "heartbeat is 65536"),
        ({"show_id": 1 << 32}, "show_id"),
        ({"routines": (Routine((step("jump", 0),)),)}, "skips past the end"),
        ({"routines": (Routine((step("end"),), rank=16),)}, "rank"),
        ({"routines": (Routine((step("end"),), rest=1 << 24),)}, "rest"),
        ({"routines": (Routine((Step("leap"), step("end"))),)}, "no step called 'leap'"),
        ({"routines": tuple(Routine((step("end"),)) for _ in range(255))}, "255 routines"),
    ],
)
def test_what_has_no_place_in_the_format_is_refused_in_words(
    program: Build, change: dict[str, object], reason: str
) -> None:
    with pytest.raises(CannotEncode, match=reason):
        encode(replace(program(), **change))


def test_every_field_keeps_its_least_and_its_most() -> None:
    for row in ROWS:
        for pick in ("least", "most"):
            args = [getattr(field.kind, pick) for field in row.fields if field.kind is not Kind.SKIP]
            if any(field.kind is Kind.SKIP for field in row.fields):
                args.append(0)
            if row.name == "wait_random":
                args = [*args[:1], 0]
            steps = (step(row.name, *args), step("end"))
            program = Program(1, 1, routines=(Routine(steps),))
            assert decode(encode(program)).routines[0].steps == steps


def test_step_places_are_where_the_image_has_them() -> None:
    program = random_program(random.Random(5), ROOMY)
    image = encode(program)
    for row in step_places(program):
        for at, chunk in row:
            assert image[at : at + len(chunk)] == chunk


def test_a_usual_action_of_a_cue_line_costs_at_most_four_bytes(routine: Callable[..., Routine]) -> None:
    """The bound is the design's: a lamp fades and a clip plays, then a valve, a valve, a fade."""
    lunge = routine(
        "fade 0 255 400", "play 0", "wait 1200", "set 1 1", "wait 800", "set 1 0", "wait 620", "fade 0 0 1000"
    )
    actions = 5
    assert len(b"".join(encode_steps(lunge.steps)[:-1])) <= 4 * actions
