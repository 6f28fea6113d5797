"""A scare that is to start on the sensor that stops the board."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Label, Rule
from sequencer.rig.sensor import Sensor

RULE = Rule(
    "T008", "a scare that starts on a stop",
    "An input that stops the board, or one from the house alarm, ends everything. Nothing may start on it.",
    failing=changed(LUNGE, ("lunge on step trips", "lunge on mushroom trips")), mended=LUNGE,
    source="NFPA 79 and ISO 13850: a stop comes before every start, and letting it go starts nothing (from memory)",
)


def find(facts: Facts) -> Iterator[Finding]:
    for routine in facts.show.routines:
        for edge in routine.starts:
            placed = facts.show.parts.get(edge.sensor)
            if placed is None or not isinstance(placed.part, Sensor) or placed.part.role == "trigger":
                continue
            message = (f"`{edge.sensor}` is of kind {placed.part.role}, which ends everything, so `{routine.name}` "
                       "cannot start on it; give it a sensor of its own.")
            yield RULE.at(edge.span, message, labels=(Label(placed.at("role"), f"kind {placed.part.role}"),))
