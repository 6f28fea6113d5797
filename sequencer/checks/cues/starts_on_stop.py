"""A scare that is to start on the sensor that stops the board."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_inputs
from sequencer.findings import Finding, Label, Rule

RULE = Rule(
    "T008", "a scare that starts on a stop",
    "An input that stops the board, or one from the house alarm, ends everything. Nothing may start on it.",
    failing=changed(LUNGE, ("lunge on step trips", "lunge on mushroom trips")), mended=LUNGE,
    source="NFPA 79 and ISO 13850: a stop comes before every start, and letting it go starts nothing (from memory)",
)


def find(facts: Facts) -> Iterator[Finding]:
    ending = ending_inputs(facts.show)
    for routine in facts.show.routines:
        for edge in routine.starts:
            if edge.sensor in ending:
                message = (f"`{edge.sensor}` is the {ending[edge.sensor]} of the show, which ends everything, so "
                           f"`{routine.name}` cannot start on it; give it a sensor of its own.")
                sensor = facts.show.parts.get(edge.sensor)
                labels = () if sensor is None else (Label(sensor.at("role"), "this sensor"),)
                yield RULE.at(edge.span, message, labels=labels)
