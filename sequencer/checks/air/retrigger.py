"""A scare that can start again before the air has come back."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.air.supply_sags import RULE as SAGS
from sequencer.checks.air_together import late, run, supplies
from sequencer.checks.examples import changed
from sequencer.checks.facts import Facts
from sequencer.dryrun.air_yard import AirYard
from sequencer.findings import Finding, Rule, Severity
from sequencer.schedule.plan import PlannedRoutine
from sequencer.units import UNITS, say, say_time

RULE = Rule(
    "A010", "a scare that can start before the air has come back",
    "Triggered again and again, as a queue of visitors will, it takes more than the line and the compressor give. The "
    "second time it is late, and by and by it does not move at all.",
    failing=SAGS.mended,
    mended=changed(SAGS.mended, ("scare swing on step trips:\n", "scare swing on step trips:\n        rest 60 s\n")),
    severity=Severity.WARNING,
    source="the scare twice on end, as soon as its rest allows, reckoned on the shared supply of the air model; mean "
    "use against what the compressor delivers within its duty",
)
NEEDS = ("plan",)
RUNS = 2


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    for air in supplies(facts):
        for planned in facts.plan.routines:
            if planned.routine.starts and not planned.routine.idle:
                yield from _judged(air, planned)


def _judged(air: AirYard, planned: PlannedRoutine) -> Iterator[Finding]:
    period_us = max(planned.shortest_us, 1000) + planned.routine.rest_us
    started = [(planned, number * period_us) for number in range(RUNS)]
    trace = run(air, started)
    if trace is None:
        return
    name = planned.routine.name
    used_m3_s = trace.air_std_l / 1000 / RUNS / (period_us / 1e6)
    gives_m3_s = air.compressor.flow.si * air.compressor.duty.si
    if used_m3_s > gives_m3_s:
        unit = UNITS["scfm" if air.compressor.cut_in.unit.symbol == "psi" else "L/min"]
        yield RULE.at(planned.routine.span, f"`{name}` can start every {say_time(period_us)} and then takes "
                      f"{say(used_m3_s, unit)}, and `{air.compressor.name}` gives {say(gives_m3_s, unit)} within its "
                      "duty; give it a longer `rest` or a larger compressor.", severity=Severity.NOTE)
    for one in late(air, trace, started[1:]):
        comes = "does not arrive" if one.arrives_us is None else "is late"
        yield RULE.at(one.moment.span, f"`{one.cylinder}` {comes} when `{name}` starts again after "
                      f"{say_time(period_us)}: the air has not come back by then; give it a longer `rest`.")
        return
