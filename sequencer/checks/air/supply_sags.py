"""Scares that run at the same time and take the air from one another."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.air.shared_run import SharedTrace
from sequencer.checks.air_calm import calm
from sequencer.checks.air_together import Late, certain, late, lowest, run, supplies
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import listed
from sequencer.checks.strokes import say_pressure
from sequencer.dryrun.air_yard import AirYard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.schedule.plan import PlannedRoutine
from sequencer.units import say_time

SECOND = '''prop gate:
    air from bench port 2, regulator 60 psi
    reach fenced
    valve push like valve_5_2_quarter: on box out1
    cylinder arm like cylinder_round_2_in: on push, stroke 20 in
    scare swing on step trips:
        0 s: arm extends
        1.8 s: arm retracts
stop on mushroom trips:
    window.ram retracts, gate.arm retracts
'''
TWO = changed(LUNGE, ("stop on mushroom trips: window.ram retracts\n", SECOND),
              ("manifold bench on shed", "line hose from shed: tube 1/4 in, length 300 ft\nmanifold bench on hose"))
RULE = Rule(
    "A009", "air that several scares take from one another",
    "Where scares run together they draw on one line and one tank. The pressure sags, and whoever moves then arrives "
    "later than on air of its own, so that light and sound no longer fit.",
    failing=TWO, mended=changed(TWO, ("tube 1/4 in, length 300 ft", "tube 1/2 in, length 10 ft")),
    severity=Severity.WARNING,
    source="all scares started at one moment, reckoned on the shared supply of the air model; what hangs on sensors "
    "and draws is left out",
)
NEEDS = ("plan",)
MOST_SAID = 3


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    started = [(planned, 0) for planned in _together(facts.plan.routines)]
    if len(started) < 2:
        return
    for air in supplies(facts):
        if calm(facts.memo, air, [(moment, 0) for planned, _ in started for moment in certain(planned)]):
            continue
        trace = run(facts, air, started)
        if trace is not None:
            yield from _judged(air, trace, started)


def _together(routines: tuple[PlannedRoutine, ...]) -> Iterator[PlannedRoutine]:
    """Scares that can all run at once: of those that move the same cylinder only the first."""
    moved: set[str] = set()
    for planned in routines:
        own = {travel.cylinder for moment in planned.moments for travel in moment.travels}
        if planned.routine.starts and not planned.routine.idle and not own & moved:
            moved |= own
            yield planned


def _judged(air: AirYard, trace: SharedTrace, started: list[tuple[PlannedRoutine, int]]) -> Iterator[Finding]:
    found: dict[str, Late] = {}
    for one in late(air, trace, started):
        found.setdefault(one.cylinder, one)
    for one in list(found.values())[:MOST_SAID]:
        label = Label(one.moment.span, "this motion")
        yield RULE.at(one.moment.span, _sentence(air, trace, one), labels=(label,))


def _sentence(air: AirYard, trace: SharedTrace, one: Late) -> str:
    told = one.moment.earliest_us
    slowest = one.travel.arrives_us[1] - one.moment.latest_us
    comes = ("does not arrive" if one.arrives_us is None
             else f"takes {say_time(one.arrives_us - one.from_us - told)} to arrive")
    node = lowest(trace)
    drew = listed([f"`{name}`" for name, _ in node.least.drawn_std_l[:2]] or ["the others"])
    like = air.compressor.cut_in
    falls = (f"`{node.name}` falls from {say_pressure(node.least.from_pa - P_ATMOSPHERE_PA, like)} to "
             f"{say_pressure(max(node.least.pressure_pa - P_ATMOSPHERE_PA, 0.0), like)}, most of it to {drew}")
    return (f"Where all scares start together `{one.cylinder}` {comes}, at most {say_time(slowest)} by itself: "
            f"{falls}; give it a wider or shorter main line, a tank nearby, or start them apart.")
