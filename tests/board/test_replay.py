"""A night played again from the board's log alone: the same edges, on the same ticks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.board.log import LogEntry, LogKind
from sequencer.board.replay import CannotReplay, merged, replay
from sequencer.steps.story import Call
from tests.firmware.core.bench import Run, levels_of, limits_of, tell_python
from tests.firmware.stories import Case, case


def told(seed: int) -> tuple[Case, Run]:
    """A story without drives by hand, whose length no log holds, and what it came to. Nobody arms before tick 1: what
    the pins say is not known before."""
    one = case(seed, limits_of)
    deeds = [deed for deed in one.deeds if deed.call is not Call.DRIVE]
    later = [replace(deed, tick=1) if deed.tick == 0 and deed.call is not Call.SET_INPUT else deed for deed in deeds]
    one = replace(one, deeds=tuple(sorted(later, key=lambda deed: (deed.tick, deed.call is not Call.SET_INPUT))))
    return one, tell_python(one.program, one.limits, seed, one.deeds, one.until)


def numbered(entries: tuple[LogEntry, ...]) -> tuple[tuple[int, LogEntry], ...]:
    return tuple(enumerate(entries))


@pytest.mark.parametrize("seed", range(40))
def test_a_night_comes_out_to_the_tick_from_its_log(seed: int) -> None:
    one, run = told(seed)
    night = replay(one.program, one.limits, numbered(run.entries))
    assert night.difference is None
    assert night.compared > 3
    levels = levels_of(one.program, night.edges, night.ends)
    assert levels == tuple(edge for edge in run.edges if edge[0] < night.ends)


def test_a_log_that_says_otherwise_is_told_at_its_first_entry() -> None:
    one, run = told(3)
    at = next(n for n, entry in enumerate(run.entries) if entry.kind == LogKind.ENDED)
    wrong = replace(run.entries[at], tick=run.entries[at].tick + 1)
    entries = (*run.entries[:at], wrong, *run.entries[at + 1 :])
    difference = replay(one.program, one.limits, numbered(entries)).difference
    assert difference is not None
    assert difference.logged == wrong
    assert difference.played == run.entries[at]


def test_a_log_without_an_arming_cannot_be_played() -> None:
    one, run = told(3)
    with pytest.raises(CannotReplay, match="not armed"):
        replay(one.program, one.limits, numbered(run.entries[2:4]))


def test_logs_read_one_after_the_other_are_one_unless_some_entries_are_missing() -> None:
    _, run = told(3)
    whole = numbered(run.entries)
    assert merged([whole[:20], whole[10:]]) == whole
    with pytest.raises(CannotReplay, match="some are missing"):
        merged([whole[:20], whole[25:]])
