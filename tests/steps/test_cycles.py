"""The bound of a tick: what it reckons with, by costs that are plain to add up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace

import pytest

from sequencer.board.profiles import AVR328
from sequencer.steps import Edge, Limits, Program, Routine, Start, verify
from sequencer.steps.costs import Costs
from sequencer.steps.cycles import started_together, worst_tick
from sequencer.steps.table import FORMS

Make = Callable[..., Routine]
Build = Callable[..., Program]
LIMITS = Limits(outputs=12, inputs=6)


@pytest.fixture
def costs() -> Costs:
    """Nothing costs anything, but for what a test gives a cost."""
    forms = {form.base: ((1, 0, 0),) for several in FORMS.values() for form in several}
    numbers = {one.name: 0 for one in fields(Costs) if one.name != "steps"}
    return Costs(**{**numbers, "per_tick": 16_000, "byte_every": 1_000, "steps": tuple(forms.items())})


def with_step(costs: Costs, op: str, own: int, wish: int = 0) -> Costs:
    bases = {form.base for form in FORMS[op]}
    steps = tuple((base, ((1, own, wish),) if base in bases else by_bytes) for base, by_bytes in costs.steps)
    return replace(costs, steps=steps)


def most(program: Program, costs: Costs) -> int:
    assert verify(program, LIMITS) == ()
    return worst_tick(program, LIMITS, costs).cycles


@pytest.mark.parametrize(
    ("lines", "cycles"),
    [
        (("set 0 1", "set 1 1", "wait 5", "set 2 1"), 20),
        (("set 0 1", "wait 5", "set 1 1", "set 2 1", "set 3 1", "wait 5"), 30),
        (("repeat 3", "set 0 1", "wait 5", "set 1 1", "set 2 1", "again"), 30),
        (("repeat 3", "set 0 1", "wait 5", "set 1 1", "set 2 1", "again", "set 3 1"), 30),
        (("set 0 1", "chance 1 2 2", "set 1 1", "jump 1", "set 2 1", "wait 5"), 20),
        (("set 0 1", "await_input 0 1 50", "set 1 1", "wait 5"), 20),
        (("set 0 1", "wait_random 0 5", "set 1 1", "wait 5"), 20),
        (("set 0 1", "wait_random 1 5", "set 1 1", "wait 5"), 10),
        (("set 0 1", "until 0", "set 1 1", "until 7", "set 2 1", "wait 5"), 20),
    ],
)
def test_the_steps_of_the_fullest_tick_are_what_counts(
    program: Build, routine: Make, costs: Costs, lines: tuple[str, ...], cycles: int
) -> None:
    assert most(program(routine(*lines, starts=(Start(0),))), with_step(costs, "set", 10)) == cycles


def test_of_many_that_begin_the_first_steps_of_four_count(program: Build, routine: Make, costs: Costs) -> None:
    rows = [routine("set 0 1", "set 1 1", "wait 5", starts=(Start(0),)) for _ in range(6)]
    found = most(program(*rows), replace(with_step(costs, "set", 10), start=1_000))
    assert found == 6 * 1_000 + 4 * 20


def test_no_more_run_than_have_a_slot(program: Build, routine: Make, costs: Costs) -> None:
    rows = [routine("wait 5", starts=(Start(0),)) for _ in range(9)]
    assert most(program(*rows), replace(costs, start=100)) == 800


def test_an_input_does_not_trip_and_clear_in_one_tick(program: Build, routine: Make, costs: Costs) -> None:
    rows = [routine("wait 5", starts=(Start(0, edge),)) for edge in (Edge.TRIPS, Edge.CLEARS)]
    assert most(program(*rows), replace(costs, start=100)) == 100
    both = [routine("wait 5", starts=(Start(n, edge),)) for n, edge in ((0, Edge.TRIPS), (1, Edge.CLEARS))]
    assert most(program(*both), replace(costs, start=100)) == 200


def test_an_output_is_written_once_however_many_write_it(program: Build, routine: Make, costs: Costs) -> None:
    rows = [routine("set 0 1", "wait 5", starts=(Start(0),)) for _ in range(3)]
    assert most(program(*rows), with_step(costs, "set", 0, 100)) == 100


def test_a_run_ends_and_starts_in_one_tick_only_where_a_wait_is_its_last(
    program: Build, routine: Make, costs: Costs
) -> None:
    waits, writes = (routine("set 0 1", *lines, starts=(Start(0),)) for lines in (["wait 5"], ["wait 5", "set 0 0"]))
    dear = replace(costs, start=100, end=50)
    assert (most(program(waits), dear), most(program(writes), dear)) == (150, 100)
    assert most(program(replace(waits, rest=20)), dear) == 100


def test_a_request_or_the_bytes_of_one_come_beside_all_else(program: Build, costs: Costs) -> None:
    assert most(program(), replace(costs, tick=9_000, request=500)) == 9_500
    assert most(program(), replace(costs, tick=9_000, request=500, byte_of_link=100)) == 10_000 + 100


def test_what_one_trigger_starts_leaves_out_the_others(program: Build, routine: Make, costs: Costs) -> None:
    rows = [routine("wait 5", starts=(Start(n // 2),)) for n in range(3)]
    first, second = started_together(program(*rows), LIMITS, replace(costs, start=100))
    assert (first.start, first.routines, first.bound.cycles) == (Start(0), (0, 1), 200)
    assert (second.start, second.routines, second.bound.cycles) == (Start(1), (2,), 100)


def test_more_of_anything_never_lowers_the_bound(program: Build, routine: Make) -> None:
    costs = AVR328.costs
    assert costs is not None
    lines = ["set 0 1", "fade 1 255 400", "wait 5"]
    grown = [most(program(*[routine(*lines, starts=(Start(0),))] * count), costs) for count in range(7)]
    assert grown == sorted(set(grown))
    longer = [most(program(routine(*lines[:2] * count, "wait 5", starts=(Start(0),))), costs) for count in range(1, 7)]
    assert longer == sorted(set(longer))
