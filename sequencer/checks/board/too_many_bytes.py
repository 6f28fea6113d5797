"""A program that is larger than the board's memory for it."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.board.profiles import PROFILES
from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Label, Rule
from sequencer.memo import Memo
from sequencer.steps import CannotEncode, Program, encode
from sequencer.steps.encode import step_places

_TIMES = (0, 150, 320, 500, 640, 790, 900, 1070, 1200, 1390, 1500, 1680)
_GESTURE = "gesture stutter of who:\n" + "".join(
    f"    {us} ms: who to {10 + 7 * n} % over {90 + n} ms\n" for n, us in enumerate(_TIMES))
_USES = "scare storm every 10 min to 12 min:\n" + "".join(f"    {3 * n} s: stutter of eyes\n" for n in range(12))

RULE = Rule(
    "B001", "a program too large for the board",
    "The board keeps the program in a memory that survives a power cut, twice, so that an upload that breaks off "
    "leaves the old one whole. A gesture is written in anew at each use; a repeat costs its lines once.",
    failing=LAMP + _GESTURE + _USES, mended=LAMP + _GESTURE + "".join(_USES.splitlines(keepends=True)[:3]),
    source="the profiles of the boards, sequencer/board/profiles",
)
NEEDS = ("compiled", "profile")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.compiled is not None and facts.profile is not None
    if not facts.compiled.findings:
        return  # the compiler has asked the board's own rules
    program, profile = facts.compiled.program, facts.profile
    size = _size(program, facts.memo)
    if size is None or size <= profile.limits.program_bytes:
        return
    larger = [f"{one.name} holds {one.limits.program_bytes:,}" for one in PROFILES
              if one.limits.program_bytes >= size and one.write_ms_per_byte]
    advice = f"; {larger[0]}" if larger else ""
    number, bytes_ = max(enumerate(_by_routine(program)), key=lambda pair: pair[1], default=(0, 0))
    board = facts.show.of_kind("board")[0]
    message = f"The show needs {size:,} bytes, and {profile.name} holds {profile.limits.program_bytes:,}{advice}."
    labels = ()
    if facts.show.routines:
        routine = facts.show.routines[number]
        message = f"{message[:-1]}. The largest is {routine.word} `{routine.name}` with {bytes_:,} bytes."
        labels = (Label(routine.span, f"{bytes_:,} bytes"),)
    yield RULE.at(board.span, message, labels=labels)


def _size(program: Program, memo: Memo) -> int | None:
    try:
        return len(encode(program, memo))
    except CannotEncode:
        return None


def _by_routine(program: Program) -> Iterator[int]:
    """The bytes that the steps of each routine take."""
    for places in step_places(program):
        yield sum(len(written) for _, written in places)
