"""Which routines start, which are skipped, and what a killed one leaves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sequencer.steps import (
    Cause,
    Ended,
    Killed,
    Limits,
    Machine,
    Output,
    Routine,
    Skipped,
    SkipReason,
    Start,
    Started,
    WhileRunning,
)

Yard = Callable[..., Machine]
Make = Callable[..., Routine]
Edges = Callable[..., Any]
MAT = (Start(0),)


def of(events: tuple[object, ...], kind: type) -> list[Any]:
    return [event for event in events if type(event) is kind]


def press_at(machine: Machine, ticks: tuple[int, ...], until: int, index: int = 0) -> tuple[Any, ...]:
    events: tuple[Any, ...] = ()
    for tick in ticks:
        events += machine.advance(tick)
        machine.press(index, 1)
    return events + machine.advance(until)


def starts(events: tuple[object, ...], routine: int = 0) -> list[int]:
    return [event.tick for event in of(events, Started) if event.routine == routine]


def test_a_start_is_ignored_while_running(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 100", starts=MAT))
    events = press_at(machine, (0, 50, 100), 300)
    assert starts(events) == [0, 100]
    assert of(events, Skipped) == [Skipped(50, 0, SkipReason.RUNNING)]
    assert of(events, Ended) == [Ended(100, 0), Ended(200, 0)]


def test_of_many_that_start_together_four_step_at_once_and_the_others_a_tick_later(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    """The first that start, whatever their rank; all that comes after the first steps is on its time again."""
    lights = [routine(f"set {n} 1", "wait 50", f"set {n} 0", starts=MAT, rank=5 - n) for n in range(6)]
    machine = yard(*lights, outputs=tuple(Output(n) for n in range(6)))
    events = press_at(machine, (7,), 200)
    assert [starts(events, n) for n in range(6)] == [[7]] * 6
    assert [edges(events, n) for n in range(6)] == [[(7, 255), (57, 0)]] * 4 + [[(8, 255), (57, 0)]] * 2


def test_what_a_step_starts_counts_among_the_four(yard: Yard, routine: Make, edges: Edges) -> None:
    first = routine("set 0 1", *(f"start {n}" for n in range(1, 6)), "wait 9", starts=MAT)
    others = [routine(f"set {n} 1", "wait 9") for n in range(1, 6)]
    machine = yard(first, *others, outputs=tuple(Output(n) for n in range(6)))
    events = press_at(machine, (7,), 100)
    assert [edges(events, n)[0] for n in range(6)] == [(7, 255)] * 4 + [(8, 255)] * 2


def test_a_restart_begins_anew_in_the_same_tick(yard: Yard, routine: Make, edges: Edges) -> None:
    lunge = routine(
        "set 0 1", "wait 80", "set 1 1", "wait 100", starts=MAT, while_running=WhileRunning.RESTART
    )
    machine = yard(lunge)
    events = press_at(machine, (0, 100), 400)
    assert starts(events) == [0, 100]
    assert of(events, Killed) == [Killed(100, 0, Cause.RESTART)]
    assert edges(events, 0) == [(0, 255)]
    assert edges(events, 1) == [(80, 255), (100, 0), (180, 255)]


def test_once_more_keeps_one_start_and_waits_for_the_rest(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 100", starts=MAT, while_running=WhileRunning.ONCE_MORE, rest=40))
    events = press_at(machine, (0, 30, 60, 120), 1000)
    assert starts(events) == [0, 140]
    assert of(events, Started)[1].cause is Cause.ONCE_MORE
    assert of(events, Skipped) == [Skipped(60, 0, SkipReason.PENDING), Skipped(120, 0, SkipReason.RESTING)]


def test_a_routine_rests_after_its_end(yard: Yard, routine: Make) -> None:
    events = press_at(yard(routine("wait 100", starts=MAT, rest=50)), (0, 149, 151), 500)
    assert starts(events) == [0, 151]
    assert of(events, Skipped) == [Skipped(149, 0, SkipReason.RESTING)]
    assert starts(press_at(yard(routine("wait 100", starts=MAT, rest=50)), (0, 150), 500)) == [0, 150]


def test_a_routine_does_not_start_again_before_its_blocking_input_has_cleared(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 10", starts=MAT, blocked_while=1))
    machine.advance(5)
    machine.set_input(1, False)
    events = press_at(machine, (20, 200), 310)
    assert starts(events) == [20]
    assert of(events, Skipped) == [Skipped(200, 0, SkipReason.BLOCKED)]
    machine.set_input(1, True)
    assert starts(press_at(machine, (400,), 500)) == [400]


def test_a_routine_may_be_blocked_by_the_very_input_that_starts_it(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 10", starts=MAT, blocked_while=0))
    assert starts(press_at(machine, (20, 200), 310)) == [20, 200]


def test_a_routine_starts_at_arming_once(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", "wait 10", at_arming=True))
    events = machine.advance(100)
    assert [(event.tick, event.cause) for event in of(events, Started)] == [(0, Cause.ARMED)]
    machine.disarm()
    machine.advance(200)
    assert machine.arm() is None
    assert starts(machine.advance(300)) == [200]


def test_a_routine_that_ends_makes_way_for_a_trigger_of_the_same_tick(yard: Yard, routine: Make) -> None:
    events = press_at(yard(routine("set 0 1", "wait 100", starts=MAT)), (0, 100), 110)
    assert [type(event) for event in events if event.tick == 100 and type(event) in (Ended, Started)] == [
        Ended,
        Started,
    ]


def test_a_clock_is_drawn_anew_after_each_start(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 5", starts=MAT, every=(100, 150)))
    events = press_at(machine, (60,), 20_000)
    ticks = starts(events)
    gaps = [b - a for a, b in zip([0, *ticks], ticks, strict=False)]
    assert gaps[0] == 60
    assert all(100 <= gap <= 150 for gap in gaps[1:])
    assert len(set(gaps[1:])) > 20


def test_a_clock_goes_on_when_its_start_is_skipped(yard: Yard, routine: Make) -> None:
    events = yard(routine("wait 250", every=(100, 100))).advance(1000)
    assert starts(events) == [100, 400, 700]
    assert [event.tick for event in of(events, Skipped)] == [200, 300, 500, 600, 800, 900]


def test_no_more_routines_run_than_there_are_slots(yard: Yard, routine: Make) -> None:
    limits = Limits(program_bytes=4000, outputs=40, inputs=14, routines_running=2)
    machine = yard(*(routine("wait 100", starts=MAT) for _ in range(3)), limits=limits)
    events = press_at(machine, (0,), 300)
    assert [event.routine for event in of(events, Started)] == [0, 1]
    assert of(events, Skipped) == [Skipped(0, 2, SkipReason.NO_SLOT)]


def test_an_idle_gives_its_slot_to_a_scare_of_another_prop(yard: Yard, routine: Make) -> None:
    limits = Limits(program_bytes=4000, outputs=40, inputs=14, routines_running=2)
    idles = (routine("wait 900", idle=True, group=1, rank=3), routine("wait 900", idle=True, group=2, rank=1))
    machine = yard(*idles, routine("wait 100", starts=MAT, group=3), limits=limits)
    events = press_at(machine, (50,), 200)
    assert of(events, Killed) == [Killed(50, 1, Cause.SLOT_NEEDED)]
    assert starts(events, 2) == [50]
    assert starts(events, 1) == [0, 150]


def test_an_idle_runs_over_and_over_while_nothing_else_of_its_prop_does(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    breathing = routine("set 0 1", "wait 30", idle=True, group=1)
    machine = yard(breathing, routine("set 1 1", "wait 100", "set 1 0", starts=MAT, group=1))
    events = press_at(machine, (75,), 240)
    assert starts(events, 0) == [0, 31, 62, 176, 207, 238]
    assert of(events, Killed) == [Killed(75, 0, Cause.GIVES_WAY)]
    assert edges(events, 0) == [(0, 255), (75, 0), (176, 255)]
    assert edges(events, 1) == [(75, 255), (175, 0)]


def test_an_idle_comes_back_the_tick_after_a_scare_that_ends_before_the_triggers(
    yard: Yard, routine: Make
) -> None:
    machine = yard(routine("wait 900", idle=True, group=1), routine("wait 100", starts=MAT, group=1))
    assert starts(press_at(machine, (75,), 400), 0) == [0, 176]


def test_an_idle_gives_way_between_two_rounds_with_what_it_left_on(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    breathing = routine("set 0 1", "wait 30", idle=True, group=1, rest=500)
    machine = yard(breathing, routine("wait 100", starts=MAT, group=1))
    events = press_at(machine, (200,), 400)
    assert of(events, Killed) == []
    assert edges(events, 0) == [(0, 255), (200, 0)]


def test_idles_of_other_props_go_on_and_the_whole_yard_gives_way_to_all(yard: Yard, routine: Make) -> None:
    own, other, yards = (routine("wait 900", idle=True, group=group) for group in (1, 2, 255))
    machine = yard(own, other, yards, routine("wait 100", starts=MAT, group=1))
    killed = of(press_at(machine, (50,), 60), Killed)
    assert [event.routine for event in killed] == [0, 2]
    machine = yard(own, other, yards, routine("wait 100", starts=MAT, group=255))
    assert [event.routine for event in of(press_at(machine, (50,), 60), Killed)] == [0, 1, 2]


def test_a_step_starts_a_routine_in_the_same_tick(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(routine("wait 20", "start 1", starts=MAT), routine("set 0 1", "wait 10", "set 0 0"))
    events = press_at(machine, (0,), 100)
    assert Started(20, 1, Cause.STEP, 0) in events
    assert edges(events, 0) == [(20, 255), (30, 0)]


def test_routines_that_start_one_another_do_so_once_a_tick(yard: Yard, routine: Make) -> None:
    again = {"while_running": WhileRunning.RESTART}
    machine = yard(routine("start 1", "wait 50", starts=MAT, **again), routine("start 0", "wait 50", **again))
    events = press_at(machine, (0,), 200)
    assert starts(events, 0) == [0]
    assert starts(events, 1) == [0]
    assert of(events, Skipped) == [Skipped(0, 0, SkipReason.TWICE)]


def test_a_step_stops_a_routine_and_its_kept_start(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(
        routine("set 0 1", "wait 500", starts=MAT, while_running=WhileRunning.ONCE_MORE),
        routine("stop 0", starts=(Start(1),)),
    )
    events = press_at(machine, (0, 10), 20) + press_at(machine, (30,), 2000, index=1)
    assert of(events, Killed) == [Killed(30, 0, Cause.STEP)]
    assert starts(events, 0) == [0]
    assert edges(events, 0) == [(0, 255), (30, 0)]


def test_an_idle_that_a_step_stops_stays_stopped_until_a_step_starts_it(yard: Yard, routine: Make) -> None:
    idle = routine("wait 900", idle=True, group=1)
    machine = yard(
        idle, routine("stop 0", starts=MAT, group=2), routine("start 0", starts=(Start(1),), group=2)
    )
    events = press_at(machine, (50,), 500) + press_at(machine, (600,), 700, index=1)
    assert starts(events, 0) == [0, 601]


def test_a_killed_routine_leaves_alone_what_another_has_written_since(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    first = routine("set 0 1", "set 1 1", "wait 500", starts=MAT)
    machine = yard(
        first, routine("set 0 1", "wait 500", starts=(Start(1),)), routine("stop 0", starts=(Start(2),))
    )
    events = press_at(machine, (0,), 10) + press_at(machine, (10,), 20, 1) + press_at(machine, (30,), 100, 2)
    assert edges(events, 0) == [(0, 255)]
    assert edges(events, 1) == [(0, 255), (30, 0)]


def test_a_routine_that_ends_by_itself_leaves_its_outputs_as_they_are(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", "wait 10", starts=MAT), routine("stop 0", starts=(Start(1),)))
    press_at(machine, (0,), 50)
    press_at(machine, (50,), 100, 1)
    assert machine.levels()[0] == 255


def test_safe_may_be_on_and_a_killed_routine_goes_back_to_it(yard: Yard, routine: Make, edges: Edges) -> None:
    lights_out = routine("set 0 0", "wait 500", starts=MAT)
    machine = yard(
        lights_out, routine("stop 0", starts=(Start(1),)), outputs=(Output(0, safe=255), Output(1), Output(2))
    )
    events = press_at(machine, (10,), 20) + press_at(machine, (20,), 100, 1)
    assert edges(events, 0) == [(10, 0), (20, 255)]


def test_the_higher_rank_writes_last_and_wins(yard: Yard, routine: Make, edges: Edges) -> None:
    off, on = routine("set 0 0", starts=MAT), routine("set 0 1", starts=MAT)
    assert edges(press_at(yard(off, on), (0,), 10), 0) == [(0, 255)]
    assert edges(press_at(yard(replace(off, rank=1), on), (0,), 10), 0) == []


def test_run_numbers_count_from_one_since_arming(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(routine("skip_but_nth 3 1", "pulse 0 5", "wait 1", starts=MAT))
    events = press_at(machine, tuple(range(0, 70, 10)), 100)
    assert edges(events, 0) == [(20, 255), (25, 0), (50, 255), (55, 0)]
    machine.disarm()
    machine.advance(200)
    machine.arm()
    assert edges(press_at(machine, (200, 210, 220), 300), 0) == [(220, 255), (225, 0)]
