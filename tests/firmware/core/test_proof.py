"""What the board itself says of an image against what the Python rules say: the same refusal, and the same byte."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from sequencer.board.profiles import PROFILES, Profile
from sequencer.steps import Input, Output, Program, Routine, encode, layout, step
from tests.firmware.core.proofs import Proof, python_says, same
from tests.firmware.images import image_for

IMAGES = 600
"""For each kind of board."""


@pytest.fixture(scope="module", params=PROFILES, ids=lambda profile: profile.name)
def profile(request: pytest.FixtureRequest) -> Profile:
    return request.param


@pytest.fixture(scope="module")
def proof(profile: Profile, tmp_path_factory: pytest.TempPathFactory) -> Proof:
    return Proof(tmp_path_factory.mktemp("proof"), profile)


def test_the_board_refuses_what_python_refuses_and_nothing_else(proof: Proof, profile: Profile) -> None:
    seen: Counter[str] = Counter()
    for seed in range(IMAGES):
        image = image_for(random.Random(seed), profile)
        want = python_says(image, profile)
        assert same(proof(image), want), f"image {seed}: {proof(image)}, not {want}"
        seen[want[0]] += 1
    assert min(seen[what] for what in ("", "not a program", "beyond limits")) > IMAGES / 10
    assert seen["wrong kind"]


@pytest.mark.parametrize(
    ("what", "at", "value", "refusal", "detail"),
    [
        ("another magic", 0, 0, "not a program", 0),
        ("another version of the format", 2, 9, "not a program", 2),
        ("a length that lies", 8, 99, "not a program", 8),
        ("a body outside the image", -2 - 1, 0xFF, "not a program", None),
        ("a step that is none", -1, 0x1B, "not a program", None),
        ("another board", 3, 77, "wrong kind", None),
    ],
)
def test_what_is_wrong_is_named(
    proof: Proof, profile: Profile, what: str, at: int, value: int, refusal: str, detail: int | None
) -> None:
    image = bytearray(encode(Program(profile.kind, 5, routines=(Routine((step("end"),)),))))
    image += b"\x50"
    image[8] = len(image)
    image[at] = value
    image[layout.CRC_AT : layout.HEADER_SIZE] = layout.image_crc(bytes(image)).to_bytes(4, "little")
    said = proof(bytes(image))
    assert said[0] == refusal, what
    assert detail is None or said[1] == detail, what


@pytest.mark.parametrize(
    "lines",
    [
        ("repeat 5", "await_input 0 1 9", "again"),
        ("repeat_for 500", "skip_unless 0 1 1", "wait 3", "again"),
        ("repeat 3", "repeat 2", "until 0", "again", "again"),
        ("wait 4",) + ("set 0 1",) * 17,
        ("again",),
        ("mark", "again"),
        ("jump 1", "wait 3"),
        ("fade 0 100 20",),
        ("play 1",),
        ("start 9",),
    ],
)
def test_a_routine_that_may_not_run_is_refused_by_the_board(
    proof: Proof, profile: Profile, lines: tuple[str, ...]
) -> None:
    """Loops without time, too much at once, blocks that do not hang together, and names of what is not there."""
    plain = next(pin.index for pin in profile.outputs if not pin.fades)
    steps = tuple(step(words[0], *map(int, words[1:])) for words in map(str.split, (*lines, "end")))
    image = encode(Program(profile.kind, 1, (Output(plain),), (Input(0),), (Routine(steps),)))
    assert proof(image)[0] == "beyond limits"
    assert python_says(image, profile)[0] == "beyond limits"
