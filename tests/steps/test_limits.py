"""The output table's limits hold whatever the steps say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sequencer.steps import Fault, FaultCode, Input, InputKind, Machine, Output, Routine, Start, WhileRunning

Yard = Callable[..., Machine]
Make = Callable[..., Routine]
Edges = Callable[..., Any]
MAT = (Start(0),)


def go(yard: Yard, routine: Routine, outputs: tuple[Output, ...], until: int = 5000) -> tuple[Any, ...]:
    machine = yard(replace(routine, starts=MAT), outputs=outputs, clips=())
    machine.press(0, 1)
    return machine.advance(until)


def faults(events: tuple[Any, ...]) -> list[tuple[int, FaultCode, int]]:
    return [(event.tick, event.code, event.subject) for event in events if type(event) is Fault]


def test_an_output_is_switched_off_after_its_longest_on_time(yard: Yard, routine: Make, edges: Edges) -> None:
    events = go(yard, routine("set 0 1", "wait 400", "set 0 1", "wait 3000"), (Output(0, longest_on=500),))
    assert edges(events, 0) == [(0, 255), (500, 0)]
    assert faults(events) == [(500, FaultCode.LONGEST_ON, 0)]


def test_an_output_switched_off_stays_off_until_written_anew(yard: Yard, routine: Make, edges: Edges) -> None:
    steps = routine("set 0 1", "wait 550", "set 0 1", "wait 1000")
    events = go(yard, steps, (Output(0, longest_on=500, shortest_off=200),))
    assert edges(events, 0) == [(0, 255), (500, 0), (700, 255), (1200, 0)]


def test_a_flash_longer_than_the_longest_on_time_does_not_come_back(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    events = go(yard, routine("flash 0 600 3000", "wait 3000"), (Output(0, longest_on=500),))
    assert edges(events, 0) == [(0, 255), (500, 0)]


def test_a_flash_within_the_longest_on_time_goes_on(yard: Yard, routine: Make, edges: Edges) -> None:
    events = go(yard, routine("flash 0 400 1600", "wait 1600"), (Output(0, longest_on=500),))
    assert edges(events, 0) == [(0, 255), (400, 0), (800, 255), (1200, 0)]


def test_an_output_stays_on_for_its_shortest_time(yard: Yard, routine: Make, edges: Edges) -> None:
    events = go(yard, routine("set 0 1", "wait 30", "set 0 0"), (Output(0, shortest_on=100),))
    assert edges(events, 0) == [(0, 255), (100, 0)]


def test_an_output_stays_off_for_its_shortest_time(yard: Yard, routine: Make, edges: Edges) -> None:
    steps = routine("set 0 1", "wait 30", "set 0 0", "wait 10", "set 0 1", "wait 500")
    assert edges(go(yard, steps, (Output(0, shortest_off=200),)), 0) == [(0, 255), (30, 0), (230, 255)]


def test_of_wishes_that_come_too_early_the_newest_wins(yard: Yard, routine: Make, edges: Edges) -> None:
    steps = routine("set 0 1", "wait 10", "set 0 0", "wait 10", "set 0 1", "wait 500")
    assert edges(go(yard, steps, (Output(0, shortest_on=100),)), 0) == [(0, 255)]


def test_a_pulse_shorter_than_the_shortest_on_time_is_drawn_out(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    assert edges(go(yard, routine("pulse 0 20"), (Output(0, shortest_on=80),)), 0) == [(0, 255), (80, 0)]


def test_the_first_on_after_power_up_waits_for_nothing(yard: Yard, routine: Make, edges: Edges) -> None:
    assert edges(go(yard, routine("set 0 1", "wait 9"), (Output(0, shortest_off=510),)), 0) == [(0, 255)]


def test_going_safe_obeys_no_shortest_time(yard: Yard, routine: Make, edges: Edges) -> None:
    lunge = routine("set 0 1", "wait 500", starts=MAT)
    machine = yard(
        lunge,
        outputs=(Output(0, shortest_on=400),),
        clips=(),
        inputs=(Input(0), Input(1, kind=InputKind.STOP)),
    )
    machine.press(0, 1)
    events = machine.advance(50)
    machine.set_input(1, False)
    assert edges(events + machine.advance(600), 0) == [(0, 255), (50, 0)]


def test_a_killed_routine_goes_safe_at_once_too(yard: Yard, routine: Make, edges: Edges) -> None:
    lunge = routine("set 0 1", "set 1 0", "wait 500", starts=MAT)
    outputs = (Output(0, shortest_on=400), Output(1, safe=255, shortest_off=400))
    machine = yard(lunge, routine("stop 0", starts=(Start(1),)), outputs=outputs, clips=())
    machine.press(0, 1)
    events = machine.advance(50)
    machine.press(1, 1)
    events += machine.advance(600)
    assert edges(events, 0) == [(0, 255), (50, 0)]
    assert edges(events, 1) == [(0, 0), (50, 255)]


def test_of_one_exclusion_group_only_one_is_on(yard: Yard, routine: Make, edges: Edges) -> None:
    steps = routine("set 0 1", "wait 50", "set 1 1", "wait 50", "set 0 0", "wait 50", "set 1 1", "wait 10")
    events = go(yard, steps, (Output(0, exclusion=1), Output(1, exclusion=1)))
    assert edges(events, 0) == [(0, 255), (100, 0)]
    assert edges(events, 1) == [(150, 255)]
    assert faults(events) == [(50, FaultCode.EXCLUSION, 1)]


def test_in_one_tick_the_first_in_output_order_goes_on(yard: Yard, routine: Make, edges: Edges) -> None:
    events = go(
        yard, routine("set 1 1", "set 0 1", "wait 5"), (Output(0, exclusion=1), Output(1, exclusion=1))
    )
    assert edges(events, 0) == [(0, 255)]
    assert edges(events, 1) == []
    assert faults(events) == [(0, FaultCode.EXCLUSION, 1)]


def test_a_change_over_within_one_tick_breaks_before_it_makes(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    outputs = (Output(0, exclusion=1), Output(1, exclusion=1))
    events = go(yard, routine("set 1 1", "wait 50", "set 0 1", "set 1 0", "wait 5"), outputs)
    assert edges(events, 0) == [(50, 255)]
    assert edges(events, 1) == [(0, 255), (50, 0)]
    assert faults(events) == []


def test_a_change_over_fails_while_the_other_must_stay_on(yard: Yard, routine: Make, edges: Edges) -> None:
    outputs = (Output(0, exclusion=1), Output(1, exclusion=1, shortest_on=100))
    events = go(yard, routine("set 1 1", "wait 50", "set 1 0", "set 0 1", "wait 500"), outputs)
    assert edges(events, 0) == []
    assert edges(events, 1) == [(0, 255), (100, 0)]
    assert faults(events) == [(50, FaultCode.EXCLUSION, 0)]


def test_a_fade_counts_as_on_from_its_first_tick(yard: Yard, routine: Make, edges: Edges) -> None:
    outputs = (Output(0, True, longest_on=500), Output(1, exclusion=1), Output(2, True, exclusion=1))
    events = go(yard, routine("fade 0 1 2000", "fade 2 1 900", "wait 5", "set 1 1", "wait 3000"), outputs)
    assert edges(events, 0) == [(0, 1, 2000), (500, 0)]
    assert edges(events, 1) == []
    assert faults(events) == [(5, FaultCode.EXCLUSION, 1), (500, FaultCode.LONGEST_ON, 0)]


def test_a_fade_that_must_wait_takes_what_is_left_of_its_time(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    steps = routine("set 0 1", "wait 100", "set 0 0", "wait 50", "fade 0 200 400", "wait 900")
    events = go(yard, steps, (Output(0, True, shortest_off=200),))
    assert edges(events, 0) == [(0, 255), (100, 0), (300, 200, 250)]


def test_a_fade_frozen_by_the_shortest_on_time_keeps_its_level(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    steps = routine("fade 0 100 100", "wait 51", "set 0 0", "wait 900")
    events = go(yard, steps, (Output(0, True, shortest_on=200),))
    assert edges(events, 0) == [(0, 100, 100), (51, 50), (200, 0)]


def test_a_fade_out_that_ends_too_early_waits_at_its_last_level(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    steps = routine("level 0 10", "fade 0 0 1", "wait 1", "level 0 10", "fade 0 0 50", "wait 900")
    events = go(yard, steps, (Output(0, True, shortest_on=100),))
    assert edges(events, 0) == []
    steps = routine("level 0 10", "wait 1", "fade 0 0 50", "wait 900")
    events = go(yard, steps, (Output(0, True, shortest_on=100),))
    assert edges(events, 0) == [(0, 10), (1, 0, 50), (51, 1), (100, 0)]


def test_a_restart_in_the_same_tick_shows_no_edge(yard: Yard, routine: Make, edges: Edges) -> None:
    machine = yard(routine("set 0 1", "wait 500", starts=MAT, while_running=WhileRunning.RESTART))
    machine.press(0, 1)
    events = machine.advance(100)
    machine.press(0, 1)
    assert edges(events + machine.advance(200), 0) == [(0, 255)]
