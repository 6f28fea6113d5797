"""A scare that can start again before the air has come back."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.air.supply_sags import RULE as SAGS
from sequencer.checks.air_together import late, recovers, run, supplies
from sequencer.checks.examples import changed
from sequencer.checks.facts import Facts
from sequencer.dryrun.air_yard import AirYard
from sequencer.findings import Finding, Rule, Severity
from sequencer.schedule.plan import PlannedRoutine
from sequencer.units import say_time

LEAST_US = 1000
ORDINAL = ("first", "second", "third", "fourth")

RULE = Rule(
    "A010", "a scare that can start before the air has come back",
    "Triggered again and again, as a queue of visitors will, it takes more than its line gives. Each time the pressure "
    "is lower, the motion later, and by and by it does not arrive at all.",
    failing=changed(SAGS.failing, ("length 300 ft", "length 600 ft")), mended=SAGS.mended, severity=Severity.WARNING,
    source="the scare several times on end, as soon as its rest allows, reckoned on the shared supply of the air model",
)
NEEDS = ("plan",)
RUNS = 4
"""A line that gives too little shows it by then; a tank that runs empty in an hour is a matter of the night."""


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    for air in supplies(facts):
        for planned in facts.plan.routines:
            if planned.routine.starts and not planned.routine.idle:
                yield from _judged(facts, air, planned)


def _judged(facts: Facts, air: AirYard, planned: PlannedRoutine) -> Iterator[Finding]:
    period_us = max(planned.shortest_us, LEAST_US) + planned.routine.rest_us
    if recovers(air, planned, period_us, RUNS):
        return  # each run is as the first: nothing to reckon out
    started = [(planned, number * period_us) for number in range(RUNS)]
    trace = run(facts, air, started)
    if trace is None:
        return
    first = {one.cylinder for one in late(air, trace, started[:1])}
    for one in late(air, trace, started[1:]):
        if one.cylinder not in first:
            comes = "does not arrive" if one.arrives_us is None else "is late"
            yield RULE.at(one.moment.span, f"`{one.cylinder}` {comes} when `{planned.routine.name}` starts for the "
                          f"{ORDINAL[one.from_us // period_us]} time, {say_time(period_us)} after another: the air has "
                          "not come back by then; give it a longer `rest`, a wider or shorter line, or a "
                          "larger tank.")
            return
