"""A valve that is switched back before it has come over."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.moments import (
    Next,
    followers,
    grouped,
    on_path,
    shifted_us,
    turns,
    valve_switched,
)
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.valve import Way
from sequencer.schedule.plan import Moment, PlannedRoutine
from sequencer.units import say

RULE = Rule(
    "T002", "a valve switched faster than it can follow",
    "A valve needs its response time and the time its spool takes. Switched back sooner it opens partly or not at "
    "all, and what the cylinder does then is not known to anybody.",
    failing=changed(LUNGE, ("2 s: ram retracts", "10 ms: ram retracts")), mended=LUNGE, severity=Severity.WARNING,
    source="the times of the valve itself (`responds`, `releases`, `shifts over`); from its data sheet, or the shelf",
)
NEEDS = ("plan",)


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    def valve(moment: Moment) -> tuple[str, ...]:
        switched = valve_switched(yard.parts, moment.drive)
        return () if switched is None else (switched[0].name,)

    for moments in grouped(routine, valve).values():
        for one in followers(routine, turns(routine, moments, partial(_way_at, yard))):
            yield from _too_quick(yard, one)


def _way_at(yard: Yard, moment: Moment) -> Way:
    switched = valve_switched(yard.parts, moment.drive)
    assert switched is not None
    return _way_of(moment, switched[1])


def _too_quick(yard: Yard, one: Next) -> Iterator[Finding]:
    first, second = valve_switched(yard.parts, one.first.drive), valve_switched(yard.parts, one.second.drive)
    assert first is not None and second is not None
    valve, way = first[0], _way_of(one.first, first[1])
    needs = shifted_us(valve, way)
    if way == _way_of(one.second, second[1]) or one.gap_us[0] >= needs or one.gap_us[1] == 0:
        return  # what is undone in the same moment never comes out, and is a finding of its own
    in_ms = valve.responds
    message = (f"`{valve.name}` is switched and switched back {say(one.gap_us[0] / 1e6, in_ms)} later, and needs "
               f"{say(needs / 1e6, in_ms)} to come over{on_path(one.second)}.")
    labels = () if one.own_end else (Label(one.first.span, "switched here"),)
    yield RULE.at(one.second.span, message, labels=labels)


def _way_of(moment: Moment, way: Way) -> Way:
    """`open` is `out`, and the end of a command that was given for a time sends the valve the other way."""
    return "out" if (way in ("out", "open")) != moment.goes_back else "home"
