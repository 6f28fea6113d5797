"""A valve that is switched back before it has come over."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.moments import followers, on_path, shifted_us, valve_switched
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.valve import Way
from sequencer.schedule.plan import Moment
from sequencer.units import say

RULE = Rule(
    "T002", "a valve switched faster than it can follow",
    "A valve needs its response time and the time its spool takes. Switched back sooner it opens partly or not at "
    "all, and what the cylinder does then is not known to anybody.",
    failing=changed(LUNGE, ("2 s: ram retracts", "10 ms: ram retracts")), mended=LUNGE, severity=Severity.WARNING,
    source="the times of the valve itself (`responds`, `releases`, `shifts over`); from its data sheet, or the shelf",
)
NEEDS = ("plan",)


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    show = facts.show
    for placed in show.of_kind("valve"):
        name = placed.part.name

        def concerns(moment: Moment, name: str = name) -> bool:
            switched = valve_switched(show, moment.drive)
            return switched is not None and switched[0].name == name

        for routine in facts.plan.routines:
            for one in followers(routine, concerns):
                first, second = valve_switched(show, one.first.drive), valve_switched(show, one.second.drive)
                assert first is not None and second is not None
                valve, way = first
                if _way_of(one.first, way) == _way_of(one.second, second[1]):
                    continue
                needs = shifted_us(valve, _way_of(one.first, way))
                if one.gap_us[0] >= needs:
                    continue
                in_ms = valve.responds
                gap = say(one.gap_us[0] / 1e6, in_ms)
                again = "at the same moment" if one.gap_us[0] <= 0 else f"{gap} later"
                message = (f"`{name}` is switched and switched back {again}, and needs {say(needs / 1e6, in_ms)} to "
                           f"come over{on_path(one.second)}.")
                labels = () if one.own_end else (Label(one.first.span, "switched here"),)
                yield RULE.at(one.second.span, message, labels=labels)


def _way_of(moment: Moment, way: Way) -> Way:
    """`open` is `out`, and the end of a command that was given for a time sends the valve the other way."""
    return "out" if (way in ("out", "open")) != moment.goes_back else "home"
