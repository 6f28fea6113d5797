"""A valve whose pilot needs more pressure than its prop has."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.prop import Prop
from sequencer.rig.valve import Valve

RULE = Rule(
    "R020", "too little pressure to shift the valve",
    "A pilot-operated valve is shifted by the air it is fed with. Below its least pressure it clicks and does not "
    "move, or moves halfway and leaks.",
    failing=changed(LUNGE, ("regulator 60 psi", "regulator 20 psi")), mended=LUNGE, severity=Severity.WARNING,
    source="the least pressure that the valve's own data give; 20 to 40 psi is usual (from memory)",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for placed in yard.of_kind("valve"):
        valve = placed.part
        assert isinstance(valve, Valve)
        prop = yard.parts.get(valve.prop or "")
        if valve.pilot is None or prop is None or not isinstance(prop.part, Prop) or prop.part.regulator is None:
            continue
        if prop.part.regulator.si < valve.pilot.si:
            message = (f"`{valve.name}` needs at least {valve.pilot} to shift, and the regulator of "
                       f"`{prop.part.name}` is at {prop.part.regulator}.")
            label = Label(placed.at("pilot"), "this valve")
            yield RULE.at(prop.at("regulator"), message, labels=(label,))
