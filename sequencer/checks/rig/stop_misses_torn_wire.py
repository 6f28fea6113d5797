"""A stop or an alarm that would not notice a torn wire."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_edges
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.sensor import Sensor

RULE = Rule(
    "R022", "a stop that a torn wire does not trip",
    "An input is pulled high, so a wire that is torn or a plug that has come off reads high. A stop whose contact "
    "closes when it is struck reads low then, and with its wire torn it stops nothing. Wired through the contact that "
    "opens, it stops the show by itself when the wire goes.",
    failing=changed(LUNGE, ("mushroom like stop_mushroom: on box in0",
                            "mushroom: kind stop, on box in0, low when tripped")),
    mended=LUNGE, severity=Severity.WARNING,
    source="IEC 60204-1: stop circuits are closed loops, so that a break reads as a stop (from memory)",
)


def find(facts: Facts) -> Iterator[Finding]:
    for name, (word, trips) in ending_edges(facts.show).items():
        placed = facts.show.parts.get(name)
        if placed is None or not isinstance(placed.part, Sensor):
            continue
        stops_when = placed.part.tripped if trips else {"low": "high", "high": "low"}[placed.part.tripped]
        if stops_when == "low":
            change = "write `high when tripped`" if trips else f"write `{word} on {name} trips`"
            message = (f"`{name}` is the {word} when its pin is low, so a torn wire, which reads high, goes unnoticed; "
                       f"wire it through the contact that opens, and {change}.")
            yield RULE.at(placed.at("tripped"), message)
