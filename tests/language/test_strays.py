"""Words that the grammar takes and no part does: told as slips, and never told of what can be right."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lark import UnexpectedInput

from sequencer.language.grammar import engine
from sequencer.language.reader import parse_line, read_document
from sequencer.language.repairs import trace
from sequencer.language.strays import find_stray, may_stray
from tests.bench.bar_mutate import apply
from tests.generate.shows import random_show

SLIPS = [
    ("lamp lamp eyes:\n    on box out1\n", "lamp eyes:\n    on box out1\n"),
    ("lamp eyes eyes:\n    on box out1\n", "lamp eyes:\n    on box out1\n"),
    ("eyes lamp:\n    on box out1\n", "lamp eyes:\n    on box out1\n"),
    ("lamp eyes 99:\n    on box out1\n", "lamp eyes:\n    on box out1\n"),
    ("lamp eyes: draws W 3\n", "lamp eyes: draws 3 W\n"),
    ("lamp eyes: draws 3 3 W\n", "lamp eyes: draws 3 W\n"),
    ("cylinder ram: 12 stroke in\n", "cylinder ram: stroke 12 in\n"),
    ("compressor shed: cuts in 95 at psi\n", "compressor shed: cuts in at 95 psi\n"),
    ("line yard from shed: tube in 3/8, length 50 ft\n", "line yard from shed: tube 3/8 in, length 50 ft\n"),
    ("scare lunge:\n    0 s: retracts ram\n", "scare lunge:\n    0 s: ram retracts\n"),
    ("scare lunge:\n    0 s: ram ram retracts\n", "scare lunge:\n    0 s: ram retracts\n"),
    ("scare lunge:\n    0 s: eyes to 100 % 400 over ms\n", "scare lunge:\n    0 s: eyes to 100 % over 400 ms\n"),
    ("scare lunge:\n    0 s: rattle of of bar with 3\n", "scare lunge:\n    0 s: rattle of bar with 3\n"),
    ("scare lunge:\n    0 s: rattle of bar with 3 3\n", "scare lunge:\n    0 s: rattle of bar with 3\n"),
    ("scare lunge:\n    0 s: trade of a and and b\n", "scare lunge:\n    0 s: trade of a and b\n"),
]

RIGHT = [
    # A part and a parameter may be called as a unit is.
    "cylinder bar: on kick, stroke 2 in\nscare a:\n    0 s: rattle of bar with 5 and 320 ms\n    1 s: bar retracts\n",
    "gesture rattle of who with m:\n    0 s: repeat m times every 2 s:\n        0 s: who extends for m\n",
    "gesture hold of who with s:\n    0 s: who to 60 % over s\n",
    "valve shove: responds in 20 ms, releases in 30 ms\nsensor mat: settles in 20 ms\n",
    "let beat = 4 s\nscare a:\n    4 beat: eyes to 5 % over 2 beat\n    +1 beat: rattle of eyes with 2 beat and 3\n",
    "prop hatch: air from bench port 1, tube 1/4 in, length 12 ft\n",
    "line yard from shed: tube 3/8 in\nmanifold bench on yard: ports 8\nlamp eyes like eyes_red: on box out1\n",
    "scare a:\n    0 s: opens opens for 2 s, stops runs\n",
    "rope r: multiplies 2 times, each pulley loses 5 %, pulls while extending\n",
    "night:\n    opens 6:00 pm, closes 10:30 pm\n    groups 40 per hour, of 2 to 5\n",
    "night:\n    passes a then b after 20 s to 60 s\n",
    "compressor shed delivers 5.1 scfm at 90 psi:\n    tank 20 gal\n",
]


@pytest.mark.parametrize(("wrong", "right"), SLIPS)
def test_the_slip_is_told_on_its_line_and_mended(wrong: str, right: str) -> None:
    (finding,) = read_document(wrong.encode(), "a.show").findings
    assert apply(wrong, finding.mends[0].edits) == right
    assert not read_document(right.encode(), "a.show").findings


@pytest.mark.parametrize("text", RIGHT)
def test_what_can_be_right_is_no_slip(text: str) -> None:
    assert not read_document(text.encode(), "a.show").findings


def test_a_unit_whose_number_is_missing_is_left_to_those_who_know_the_names() -> None:
    assert not read_document(b"scare a:\n    0 s: eyes to 60 % over s\n", "a.show").findings


WORDS = st.sampled_from(
    ("rattle", "eyes", "of", "and", "with", "on", "starts", "to", "3", "50 %", "over", "1 s", "s", ",")
)


@given(st.lists(WORDS, min_size=1, max_size=8), st.integers(0, 2**32))
def test_the_quick_look_passes_over_nothing(words: list[str], seed: int) -> None:
    """What it says nothing of has no stray word, in lines put together by chance and in lines of shows."""
    rng = random.Random(seed)
    line = rng.choice(random_show(rng).split("\n")).strip()
    for text in (f"1 s: {' '.join(words)}", line):
        try:
            head = parse_line(text, "cue_line")
        except UnexpectedInput:
            continue
        if not may_stray(head):
            assert find_stray(trace(engine().lark, text, "cue_line").tokens, "cue_line") is None
