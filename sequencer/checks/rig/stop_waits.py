"""A stop or an alarm that waits long for its contact to settle."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_edges
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.sensor import Sensor

LONGEST_US = 20_000
"""Longest settle time of a stop or alarm: what a bouncing contact needs, common practice, no source."""

RULE = Rule(
    "R023", "a stop that waits",
    "The board acts on a stop in the tick in which it counts as tripped, and it counts when it has held for "
    "`settles in`. A contact has done with bouncing after some milliseconds; in every further one nothing stops.",
    failing=changed(LUNGE, ("stop_mushroom: on box in0", "stop_mushroom: on box in0, settles in 100 ms")), mended=LUNGE,
    severity=Severity.WARNING, source="common practice, no source",
)


def find(facts: Facts) -> Iterator[Finding]:
    for name, (word, _) in ending_edges(facts.show).items():
        placed = facts.show.parts.get(name)
        if placed is not None and isinstance(placed.part, Sensor) and placed.part.settle.us > LONGEST_US:
            message = (f"`{name}` is the {word} of the show and counts only after {placed.part.settle}; "
                       f"{LONGEST_US // 1000} ms are enough for a contact that bounces.")
            yield RULE.at(placed.at("settle"), message)
