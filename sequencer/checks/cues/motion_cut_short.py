"""A cylinder that is turned round before it has arrived."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.moments import Next, followers, grouped, on_path, shifted_us, turns, valve_switched
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.schedule.faults import by_needle
from sequencer.schedule.plan import Moment, PlannedRoutine, Travel, Window
from sequencer.units import say_time

RULE = Rule(
    "T003", "a motion cut short",
    "The next command comes before the cylinder has arrived. It turns round somewhere on the way, and every time "
    "that follows hangs on where. A jab that is meant to be short is better asked for as `extends for`.",
    failing=changed(LUNGE, ("2 s: ram retracts", "300 ms: ram retracts")), mended=LUNGE, severity=Severity.WARNING,
    source="the travel times of the air model, or those measured on the prop",
)
NEEDS = ("plan",)


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    moved = grouped(routine, lambda moment: [travel.cylinder for travel in moment.travels])
    for cylinder, moments in moved.items():
        for one in followers(routine, turns(routine, moments, partial(_toward, cylinder))):
            yield from _cut(yard, cylinder, one)


def _toward(cylinder: str, moment: Moment) -> str | None:
    travel = _travel(moment, cylinder)
    return None if travel is None else travel.toward


def _travel(moment: Moment, cylinder: str) -> Travel | None:
    return next((travel for travel in moment.travels if travel.cylinder == cylinder), None)


def _cut(yard: Yard, cylinder: str, one: Next) -> Iterator[Finding]:
    first, second = _travel(one.first, cylinder), _travel(one.second, cylinder)
    assert first is not None and second is not None
    if "stops" in (first.toward, second.toward) or first.toward == second.toward or first.before == first.toward:
        return
    needs = (first.arrives_us[0] - one.first.earliest_us, first.arrives_us[1] - one.first.latest_us)
    switched = valve_switched(yard.parts, one.first.drive)
    assert switched is not None
    if one.gap_us[0] >= needs[1] or one.gap_us[0] < shifted_us(*switched):
        return  # in time, or too quick even for the valve, which is a finding of its own
    certain = one.gap_us[1] < needs[0]
    if one.own_end:
        if certain:
            yield RULE.at(one.second.span, _sentence(cylinder, one, needs, "turns round"), severity=Severity.NOTE)
        return
    severity = Severity.WARNING if certain else Severity.NOTE
    does = "is turned round" if certain else "can be turned round"
    label = Label(one.first.span, "the motion that is cut short")
    opened = by_needle(first.stroke, one.gap_us[0]) if certain else ""
    yield RULE.at(one.second.span, _sentence(cylinder, one, needs, does, opened), severity=severity, labels=(label,))


def _sentence(cylinder: str, one: Next, needs: Window, does: str, opened: str = "") -> str:
    takes = say_time(needs[1]) if needs[0] == needs[1] else f"{say_time(needs[0])} to {say_time(needs[1])}"
    return (f"`{cylinder}` {does} after {say_time(one.gap_us[0])}, and takes {takes} to arrive{opened}"
            f"{on_path(one.second)}.")
