"""A valve that blows into the open at more than the pressure that is held to be harmless."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import say_pressure
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.prop import Prop
from sequencer.rig.valve import Valve
from sequencer.schedule.supply import cylinders_by_valve, pressure_at
from sequencer.units import read_quantity

MOST = read_quantity("30 psi")
TINY = 1e-9
# A cylinder whose line is not whole is not there, and its valve would look as if it blew.
NEEDS = ("whole",)
BLAST = changed(LUNGE, ("    lamp eyes", "    valve puff like valve_2_2_quarter: on box out1\n    lamp eyes"),
                ("eyes off\n", "eyes off, puff opens for 200 ms\n"))
RULE = Rule(
    "A006", "an air blast above 30 psi",
    "A valve with no cylinder on it blows into the open. Air above 30 psi with the nozzle blocked can go through skin "
    "and into eyes, and a jet at a person is never harmless; local codes may ask for less.",
    failing=BLAST, mended=changed(BLAST, ("regulator 60 psi", "regulator 30 psi")), severity=Severity.WARNING,
    source="29 CFR 1910.242(b): less than 30 psi, for cleaning",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    feeding = cylinders_by_valve(yard.parts)
    for placed in yard.of_kind("valve"):
        valve = placed.part
        assert isinstance(valve, Valve)
        prop = yard.parts.get(valve.prop or "")
        if valve.name in feeding or prop is None or not isinstance(prop.part, Prop) or prop.part.reach == "none":
            continue
        pressure = pressure_at(yard.parts, prop.part)
        if pressure is not None and pressure > MOST.si * (1 + TINY):
            said = say_pressure(pressure, prop.part.regulator)
            message = (f"`{valve.name}` blows with {said}, and an open jet is to stay under {MOST}; set the regulator "
                       f"of `{prop.part.name}` lower, point it past people, or write `reach none` where nobody can "
                       "come near.")
            yield RULE.at(placed.span, message)
