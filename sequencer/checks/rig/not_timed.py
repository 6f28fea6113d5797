"""A cylinder whose times nobody has taken on the real prop."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.cylinder import Cylinder

RULE = Rule(
    "R021", "times that were never taken",
    "When a motion starts and arrives hangs on needles, friction and tube, which nobody can read off a drawing. Until "
    "the real prop has been timed once each way (a phone video will do), its times follow from usual parts and may be "
    "off by a quarter or more; so is everything that rests on them.",
    failing=changed(LUNGE, (", measured out 0.4 s, back 0.6 s", "")), mended=LUNGE, severity=Severity.NOTE,
    source="computed with the air model's prototype: a needle set 5 % off near closed moves the arrival by 32 %",
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    moved = frozenset[str]().union(*(said.moves for _, said in facts.said()))
    for placed in show.of_kind("cylinder"):
        part = placed.part
        assert isinstance(part, Cylinder)
        untimed = [way for way, time in (("out", part.measured_out), ("back", part.measured_back)) if time is None]
        if part.name in moved and untimed:
            message = (f"The times of `{part.name}` {' and '.join(untimed)} were never taken; time the real prop and "
                       f"write `measured out` and `back`.")
            yield RULE.at(placed.span, message)
