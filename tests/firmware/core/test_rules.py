"""The firmware's rules against the Python rules: every edge, every entry of the log and every draw, to the tick."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pytest

from sequencer.board.log import CAUSE_NUMBERS, SKIP_NUMBERS, LogKind
from sequencer.steps import FaultCode, encode
from sequencer.steps.table import ROWS
from tests.firmware.core.bench import Board, limits_of, tell_python
from tests.firmware.stories import case

PROGRAMS = 1000
"""Random programs in each run of the tests; `tests/bench/firmware_rules.py` takes as many as it is told."""
_SHARE = 50


@pytest.mark.parametrize("first", range(0, PROGRAMS, _SHARE))
def test_a_story_comes_out_the_same(boards: Mapping[int, Board], first: int) -> None:
    for seed in range(first, first + _SHARE):
        told = case(seed, limits_of)
        want = tell_python(told.program, told.limits, seed, told.deeds, told.until)
        got = boards[told.limits.routines_running].play(encode(told.program), seed, told.deeds, told.until)
        assert got.entries == want.entries, f"story {seed}"
        assert got.edges == want.edges, f"story {seed}"
        assert got.random_state == want.random_state, f"story {seed}"


def test_the_stories_bring_up_every_step_cause_reason_and_fault() -> None:
    steps: set[str] = set()
    seen: Counter[tuple[str, int]] = Counter()
    for seed in range(200):
        told = case(seed, limits_of)
        steps |= {made.op for routine in told.program.routines for made in routine.steps}
        for entry in tell_python(told.program, told.limits, seed, told.deeds, told.until).entries:
            if entry.kind in (LogKind.STARTED, LogKind.KILLED, LogKind.MODE):
                seen["cause", entry.value & 0xFF] += 1
            elif entry.kind in (LogKind.SKIPPED, LogKind.FAULT):
                seen[LogKind(entry.kind).name, entry.value] += 1
    assert steps == {row.name for row in ROWS}
    assert {number for what, number in seen if what == "cause"} == set(CAUSE_NUMBERS.values())
    assert {number for what, number in seen if what == "SKIPPED"} == set(SKIP_NUMBERS.values())
    assert {number for what, number in seen if what == "FAULT"} == {int(code) for code in FaultCode}
