"""What each step does, to the tick."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from sequencer.steps import (
    Clip,
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Ended,
    Fault,
    FaultCode,
    Input,
    Machine,
    Routine,
    Start,
    Started,
)

Yard = Callable[..., Machine]
Make = Callable[..., Routine]
Edges = Callable[..., Any]
MAT = (Start(0),)


def of(events: tuple[object, ...], kind: type) -> list[Any]:
    return [event for event in events if type(event) is kind]


@pytest.fixture
def run(yard: Yard, routine: Make) -> Callable[..., tuple[Any, ...]]:
    """The events of lines of steps, started at tick 0; inputs trip as `trips` (tick, input) says."""

    def go(
        *lines: str, until: int = 3000, trips: tuple[tuple[int, int], ...] = (), seed: int = 1
    ) -> tuple[Any, ...]:
        machine = yard(routine(*lines, starts=MAT), seed=seed, inputs=tuple(Input(pin) for pin in range(4)))
        machine.press(0, 1)
        events: tuple[Any, ...] = ()
        for tick, index in trips:
            events += machine.advance(tick)
            machine.set_input(index, False)
        return events + machine.advance(until)

    return go


def test_waits_count_from_what_was_due(run: Callable[..., Any], edges: Edges) -> None:
    events = run("wait 100", "set 0 1", "wait 50", "set 0 0", "until 400", "set 0 1", "until 300", "set 1 1")
    assert edges(events, 0) == [(100, 255), (150, 0), (400, 255)]
    assert edges(events, 1) == [(400, 255)]


def test_a_show_an_hour_long_has_no_drift(run: Callable[..., Any], edges: Edges) -> None:
    events = run("repeat 3600", "pulse 0 10", "until 1000", "again", "set 1 1", until=3_600_001)
    assert edges(events, 0)[-2:] == [(3_599_000, 255), (3_599_010, 0)]
    assert edges(events, 1) == [(3_600_000, 255)]


def test_a_random_wait_keeps_its_bounds_and_reaches_both(run: Callable[..., Any], edges: Edges) -> None:
    waits = [edges(run("wait_random 10 3", "set 0 1", seed=seed * 2**26), 0)[0][0] for seed in range(1, 60)]
    assert set(waits) == {10, 11, 12, 13}


def test_an_await_goes_on_when_the_input_is_in_its_state(run: Callable[..., Any], edges: Edges) -> None:
    lines = ("wait 20", "await_end 1 1 500", "set 0 1", "wait 5", "set 0 0")
    events = run(*lines, trips=((130, 1),))
    assert edges(events, 0) == [(130, 255), (135, 0)]
    assert of(events, Fault) == []
    assert edges(run(*lines, trips=((3, 1),)), 0) == [(20, 255), (25, 0)]


def test_an_await_passes_its_bound_and_only_an_end_of_travel_is_a_fault(
    run: Callable[..., Any], edges: Edges
) -> None:
    events = run("wait 20", "await_input 1 1 100", "set 0 1")
    assert edges(events, 0) == [(120, 255)]
    assert of(events, Fault) == []
    events = run("wait 20", "await_end 1 1 100", "set 0 1")
    assert edges(events, 0) == [(120, 255)]
    assert of(events, Fault) == [Fault(120, FaultCode.END_NOT_REACHED, 1)]


def test_an_input_that_trips_on_the_very_bound_is_no_fault(run: Callable[..., Any]) -> None:
    assert of(run("await_end 1 1 100", trips=((100, 1),)), Fault) == []


def test_a_repeat_takes_its_rounds_and_its_period(run: Callable[..., Any], edges: Edges) -> None:
    events = run("wait 7", "repeat 3", "set 0 1", "wait 40", "set 0 0", "until 250", "again", "set 1 1")
    assert edges(events, 0) == [(7, 255), (47, 0), (257, 255), (297, 0), (507, 255), (547, 0)]
    assert edges(events, 1) == [(757, 255)]


def test_a_repeat_for_ends_with_the_first_round_that_passes_its_time(
    run: Callable[..., Any], edges: Edges
) -> None:
    assert edges(run("wait 5", "repeat_for 100", "wait 30", "again", "set 0 1"), 0) == [(125, 255)]
    assert edges(run("wait 5", "repeat_for 120", "wait 30", "again", "set 0 1"), 0) == [(125, 255)]


def test_a_repeat_until_ends_with_the_round_in_which_its_input_is_so(
    run: Callable[..., Any], edges: Edges
) -> None:
    lines = ("repeat_until 1 1 500", "wait 30", "again", "set 0 1")
    assert edges(run(*lines), 0) == [(510, 255)]
    assert edges(run(*lines, trips=((100, 1),)), 0) == [(120, 255)]


def test_a_mark_sets_the_base_until_its_unmark(run: Callable[..., Any], edges: Edges) -> None:
    events = run("wait 100", "mark", "until 30", "set 0 1", "unmark", "until 200", "set 1 1")
    assert edges(events, 0) == [(130, 255)]
    assert edges(events, 1) == [(200, 255)]


def test_loops_in_loops_keep_their_own_bases(run: Callable[..., Any], edges: Edges) -> None:
    events = run("repeat 2", "repeat 2", "pulse 0 1", "until 10", "again", "until 100", "again", "set 1 1")
    assert [tick for tick, level in edges(events, 0) if level] == [0, 10, 100, 110]
    assert edges(events, 1) == [(200, 255)]


def test_a_chance_comes_up_as_often_as_it_says(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(routine("repeat 4000", "chance 3 4 1", "pulse 0 1", "wait 2", "again", starts=MAT))
    machine.press(0, 1)
    hits = sum(level > 0 for _, level in edges(machine.advance(9000), 0))
    # Binomial, n = 4000, p = 3/4: standard deviation 27.4; five of them either way.
    assert abs(hits - 3000) < 137


def test_a_skip_looks_at_the_input_as_it_is(run: Callable[..., Any], edges: Edges) -> None:
    lines = ("wait 50", "skip_unless 1 1 2", "set 0 1", "jump 1", "set 1 1", "wait 1")
    assert edges(run(*lines), 1) == [(50, 255)]
    assert edges(run(*lines, trips=((40, 1),)), 0) == [(50, 255)]
    assert edges(run(*lines, trips=((50, 1),)), 0) == [(50, 255)]
    assert edges(run(*lines, trips=((51, 1),)), 0) == []


def test_the_last_write_of_a_tick_wins_and_nothing_shorter_comes_out(
    run: Callable[..., Any], edges: Edges
) -> None:
    assert edges(run("set 0 1", "set 0 0", "wait 5", "set 0 1", "level 0 9"), 0) == [(5, 9)]


def test_a_pulse_ends_by_itself_after_its_routine(run: Callable[..., Any], edges: Edges) -> None:
    events = run("pulse 0 120")
    assert edges(events, 0) == [(0, 255), (120, 0)]
    assert of(events, Ended) == [Ended(0, 0)]


def test_a_flash_is_on_first_and_off_at_its_end(run: Callable[..., Any], edges: Edges) -> None:
    assert edges(run("flash 0 100 450"), 0) == [
        (0, 255),
        (100, 0),
        (200, 255),
        (300, 0),
        (400, 255),
        (450, 0),
    ]
    assert edges(run("flash 0 100 400"), 0) == [(0, 255), (100, 0), (200, 255), (300, 0)]


def test_a_flicker_draws_every_fifty_ticks_and_ends_at_its_darkest(
    run: Callable[..., Any], edges: Edges
) -> None:
    told = edges(run("flicker 0 100 200 260"), 0)
    assert all(tick % 50 == 0 and 100 <= level <= 200 for tick, level in told[:-1])
    assert told[0][0] == 0
    assert told[-1] == (260, 100)
    assert len({level for _, level in told}) > 3


def test_a_fade_is_one_edge_with_its_length(run: Callable[..., Any], edges: Edges) -> None:
    assert edges(run("fade 0 200 400", "wait 1000", "fade 0 0 100"), 0) == [(0, 200, 400), (1000, 0, 100)]


def test_a_fade_cut_short_goes_on_from_the_level_it_had(run: Callable[..., Any], edges: Edges) -> None:
    events = run("fade 0 200 400", "wait 100", "fade 0 0 100", "wait 50", "set 0 1")
    assert edges(events, 0) == [(0, 200, 400), (100, 50), (100, 0, 100), (150, 255)]


def test_a_fade_that_follows_another_at_its_end_begins_at_its_level(
    run: Callable[..., Any], edges: Edges
) -> None:
    events = run("fade 0 200 400", "wait 400", "fade 0 0 100", "wait 100", "fade 0 9 50")
    assert edges(events, 0) == [(0, 200, 400), (400, 0, 100), (500, 9, 50)]


def test_a_fade_then_goes_on_when_the_fade_is_done(run: Callable[..., Any], edges: Edges) -> None:
    events = run("wait 7", "fade_then 0 200 400", "set 1 1", "fade_then 0 0 30")
    assert edges(events, 0) == [(7, 200, 400), (407, 0, 30)]
    assert edges(events, 1) == [(407, 255)]
    assert of(events, Ended) == [Ended(437, 0)]


def test_levels_follow_a_fade_tick_by_tick(yard: Yard, routine: Make) -> None:
    machine = yard(routine("fade 0 10 40", "wait 100", "fade 0 0 30", starts=MAT))
    machine.press(0, 1)
    levels = []
    for tick in range(140):
        machine.advance(tick + 1)
        levels.append(machine.levels()[0])
    assert levels[:41] == [10 * tick // 40 for tick in range(41)]
    assert levels[100:131] == [10 - 10 * tick // 30 for tick in range(31)]


def test_a_clip_plays_its_length_and_says_so(run: Callable[..., Any], edges: Edges) -> None:
    events = run("play 0")
    assert edges(events, 2) == [(0, 255), (150, 0)]
    assert ClipStarted(0, 0) in events
    assert ClipEnded(150, 0) in events


def test_a_clip_that_is_silenced_ends_there(run: Callable[..., Any], edges: Edges) -> None:
    events = run("play 0", "wait 60", "silence 2", "wait 200", "silence 2")
    assert edges(events, 2) == [(0, 255), (60, 0)]
    assert of(events, ClipSilenced) == [ClipSilenced(60, 0)]
    assert of(events, ClipEnded) == []


def test_a_clip_silenced_in_its_last_tick_has_ended(run: Callable[..., Any]) -> None:
    events = run("play 0", "wait 150", "silence 2")
    assert of(events, ClipEnded) == [ClipEnded(150, 0)]
    assert of(events, ClipSilenced) == []


def test_the_same_seed_gives_the_same_night_and_its_state_goes_on(yard: Yard, routine: Make) -> None:
    def build(seed: int) -> Machine:
        flame = routine("flicker 0 0 255 900", "wait 1000", starts=MAT, every=(1000, 1500))
        return yard(flame, seed=seed)

    assert build(7).advance(30_000) == build(7).advance(30_000)
    assert build(7).advance(30_000) != build(8).advance(30_000)
    machine = build(7)
    machine.advance(5000)
    assert machine.random_state not in (0, 7)


def test_clips_on_other_outputs_do_not_mix(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(routine("play 1", "wait 10", "play 0", starts=MAT), clips=(Clip(2, 40), Clip(3, 30)))
    machine.press(0, 1)
    events = machine.advance(200)
    assert edges(events, 3) == [(0, 255), (30, 0)]
    assert edges(events, 2) == [(10, 255), (50, 0)]
    assert of(events, Started)[0].subject == 0
