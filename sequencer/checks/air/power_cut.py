"""A prop that stays out, or can be moved by anybody, when the power fails."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import moved
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.cylinder import starts_at
from sequencer.rig.valve import power_off_way

RULE = Rule(
    "A008", "a power cut does not bring it home",
    "When the power fails every coil lets go, also those of a stop that cuts coil power. Where the valve then leaves "
    "the prop out, or with both ends open, it stands in the way, or falls. Which it is, is decided by the valve and "
    "its hoses alone; no program runs then.",
    failing=changed(LUNGE, ("valve shove like valve_5_2_quarter: on box out0",
                            "valve shove like valve_5_2_double_quarter: on box out0, back on box out1")),
    mended=LUNGE, severity=Severity.NOTE,
    source="ISO 4414 and 2006/42/EC 1.2.6: loss of power and its return must not make a hazard (read in summaries)",
)
SAYS = {
    "out": "goes out",
    "stays": "stays wherever it is, its air shut in or its valve where it was put",
    "free": "is held by nothing and goes where weight and hands take it",
}


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        way = power_off_way(one.valve)
        if way == "home" or (way == "out" and starts_at(one.part, one.valve) == "out"):
            continue
        severity = Severity.WARNING if one.reach == "possible" else Severity.NOTE
        message = (f"When the power fails `{one.part.name}` {SAYS[way]}; take a valve with one coil and a spring "
                   "that brings it home, or see that this harms nobody.")
        label = Label(yard.parts[one.valve.name].span, "by this valve")
        yield RULE.at(one.placed.span, message, severity=severity, labels=(label,))
