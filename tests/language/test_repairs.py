"""Repairs: the first change offered for a common slip is the one that was meant; what is sure is marked safe."""

from __future__ import annotations

import pytest

from sequencer.findings import Finding
from sequencer.language.reader import read_document
from tests.bench.bar_mutate import apply

HEAD = 'show "Marrow Lane"\n'
CUE = "scare lunge:\n    {}\n"
POLICY = CUE + "    0 s: eyes on\n"

SLIPS = [
    (CUE, "1 s eyes on", "1 s: eyes on"),
    (CUE, "1 s; eyes on", "1 s: eyes on"),
    (CUE, "1 s: @ eyes on", "1 s: eyes on"),
    (CUE, "1 s: : eyes on", "1 s: eyes on"),
    (CUE, "1 : s eyes on", "1 s: eyes on"),
    (CUE, "1 s eyes: on", "1 s: eyes on"),
    (CUE, "5: eyes on", "5 s: eyes on"),
    (CUE, "500: eyes on", "500 ms: eyes on"),
    (CUE, "thne: eyes on", None),
    (CUE, "then +1 s +: eyes on", "then +1 s: eyes on"),
    (CUE, "whn a trips, or after 2 s: eyes on", "when a trips, or after 2 s: eyes on"),
    (CUE, "when a trips or after 2 s: eyes on", "when a trips, or after 2 s: eyes on"),
    (CUE, "when a trips, after 2 s: eyes on", "when a trips, or after 2 s: eyes on"),
    (CUE, "when a tirps, or after 2 s: eyes on", "when a trips, or after 2 s: eyes on"),
    (
        CUE,
        "1 s: repeat 3 tmies every 2 s:\n        0 s: eyes on",
        "1 s: repeat 3 times every 2 s:\n        0 s: eyes on",
    ),
    (CUE, "1 s: repeat 3 every 2 s:\n        0 s: eyes on", "1 s: repeat 3 times every 2 s:\n        0 s: eyes on"),
    (CUE, "1 s: pick one\n        1 of 1: eyes on", None),
    (POLICY, "while ignore", "while running ignore"),
    (POLICY, "running restart", "while running restart"),
    (POLICY, "whlie running ignore", "while running ignore"),
    (POLICY, "rest rest 25 s", "rest 25 s"),
    ("{}", "let beat 462 ms", "let beat = 462 ms"),
    ("{}", "never ram out while lid home", "never: ram out while lid home"),
    ("{}", "never: ram out whle lid home", "never: ram out while lid home"),
    (
        "{}",
        "never: than 2 s between a retracts and b extends",
        "never: fewer than 2 s between a retracts and b extends",
    ),
    ("{}", "at most 3 ram, lid extending", "at most 3 of ram, lid extending"),
    ("{}", "at msot 3 of ram, lid extending", "at most 3 of ram, lid extending"),
    (
        "{}",
        "compressor shed delivers 5.1 scfm at 90 psi, tank 20 gal",
        "compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal",
    ),
    ("{}", "prop : hatch\n    reach none", "prop hatch:\n    reach none"),
    ("{}", "use yard.show", 'use "yard.show"'),
    ("{}", "gesture rattle of who wih n:\n    0 s: who on", "gesture rattle of who with n:\n    0 s: who on"),
    ("{}", "stop when mushroom trips: house on", "stop on mushroom trips: house on"),
]


def first_fault(text: str) -> Finding:
    return read_document(text.encode(), "a.show").findings[0]


@pytest.mark.parametrize(("frame", "wrong", "right"), [slip for slip in SLIPS if slip[2]])
def test_the_first_mend_offered_is_the_line_as_it_was_meant(frame: str, wrong: str, right: str) -> None:
    finding = first_fault(HEAD + frame.format(wrong))
    mended = apply(HEAD + frame.format(wrong), finding.mends[0].edits)
    assert " ".join(mended.split()) == " ".join((HEAD + frame.format(right)).split())
    assert not read_document(mended.encode(), "a.show").findings


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("prop hatch\n    reach none\n", True),
        ("scare lunge lunge:\n", True),
        ("scare lunge @:\n", True),
        ("scare step trips:\n", False),
        ("scare lunge:\n    5: eyes on\n", False),
        ("scare hatch lunge:\n", False),
    ],
)
def test_only_what_can_have_been_meant_in_one_way_is_safe(text: str, safe: bool) -> None:
    assert any(mend.safe for mend in first_fault(HEAD + text).mends) == safe


@pytest.mark.parametrize(
    "text", ["lamp:\n    on box out1\n", "rank\n", "scare :\n", "cylinder ram: on : : 5\n", "5 lamp:\n"]
)
def test_what_cannot_be_known_is_not_offered(text: str) -> None:
    finding = first_fault(HEAD + text)
    assert not any("put in" in mend.title for mend in finding.mends)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("scare lunge:\n    1 s eyes on\n", "After `1 s` comes `:`, not `eyes`. A cue reads `1.2 s: eyes on`."),
        ("scare lunge:\n    when a trips, 2 s: eyes on\n",
         "A cue reads `when ram_home trips, or after 2 s: eyes on`."),
        ("prop hatch\n    reach none\n", "A colon is missing after `prop hatch`."),
        ('use "yard.show\n', "These quotes do not close before the line ends."),
        ("let beat =\n", "The line ends after `beat =`, where an amount such as `1.2 s` is due."),
        ("use yard\n", 'After `use` comes a text in "quotes", not `yard`.'),
    ],
)
def test_the_message_says_what_is_due_and_shows_a_line_that_is_right(text: str, says: str) -> None:
    assert says in first_fault(HEAD + text).message
