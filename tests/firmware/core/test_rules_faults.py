"""The test of the test: each fault in the rules makes some story come out otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.steps import encode
from tests.firmware.core.bench import Board, build, limits_of, tell_python
from tests.firmware.core.faults import RULES, FaultMade, core_with
from tests.firmware.stories import case

STORIES = 1000
"""As many as each run of the tests tells."""


def caught_at(fault: FaultMade, folder: Path) -> int | None:
    """The number of the first story in which the fault shows, in an edge, an entry of the log, or the draws."""
    core = core_with(fault, folder)
    boards: dict[int, Board] = {}
    for seed in range(STORIES):
        told = case(seed, limits_of)
        running = told.limits.routines_running
        if running not in boards:
            boards[running] = Board(build(folder / f"faulty{running}.so", running, core, ("-O0", "-w")))
        got = boards[running].play(encode(told.program), seed, told.deeds, told.until)
        if got != tell_python(told.program, told.limits, seed, told.deeds, told.until):
            return seed
    return None


def test_there_are_twenty_faults_or_more() -> None:
    assert len({(fault.file, fault.right) for fault in RULES}) >= 20


@pytest.mark.parametrize("fault", RULES, ids=lambda fault: fault.what)
def test_the_fault_is_caught(fault: FaultMade, tmp_path: Path) -> None:
    assert caught_at(fault, tmp_path) is not None, fault.what
