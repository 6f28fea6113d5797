"""A prop that stays out, or can be moved by anybody, when the power fails."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from sequencer.air.stroke import predict_stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import Moved, moved, say_force
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.cylinder import starts_at
from sequencer.rig.valve import power_off_way
from sequencer.schedule.supply import request_for

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
        fed = _fed(yard, one) if one.valve.centre == "pressurised" else None
        if fed is None and (way == "home" or (way == "out" and starts_at(one.part, one.valve) == "out")):
            continue
        severity = Severity.WARNING if one.reach == "possible" else Severity.NOTE
        says = fed or SAYS[way]
        message = (f"When the power fails `{one.part.name}` {says}; take a valve with one coil and a spring "
                   "that brings it home, or see that this harms nobody.")
        label = Label(yard.parts[one.valve.name].span, "by this valve")
        yield RULE.at(one.placed.span, message, severity=severity, labels=(label,))


def _fed(yard: Yard, one: Moved) -> str | None:
    """What a centre that feeds both ends does to a rod that its own area does not push out; None where it does."""
    request = request_for(yard.parts, one.part.name, 0.0, "out", by="fed")
    if request is None or "out" not in one.strokes or predict_stroke(request).arrives:
        return None
    margin, area = one.margin("out"), pi / 4 * one.part.rod.si**2
    push, against = (say_force(newtons, one.regulator) for newtons in (margin.air_n / margin.area_m2 * area,
                                                                       margin.against_n))
    return f"is pushed out by the area of its rod alone, with {push} against {against}, and stays where it is or creeps"
