"""A prop that moves and does not say whether people can reach it."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.prop import Prop

RULE = Rule(
    "R017", "whether people can reach it is not said",
    "Limits on force and speed hang on whether somebody can be where the prop moves, which only its builder knows. "
    "Until it is said nothing is taken as safe: a missing answer is a question, never a pass.",
    failing=changed(LUNGE, ("    reach fenced\n", "")), mended=LUNGE, severity=Severity.NOTE,
    source="ISO 14120:2015 5.2.5.2 for the limits that hang on it (read in a secondary copy)",
)
NEEDS = ("whole",)


def find_among(yard: Yard) -> Iterator[Finding]:
    moving = {placed.part.prop for placed in yard.of_kind("cylinder")}
    for placed in yard.of_kind("prop"):
        assert isinstance(placed.part, Prop)
        if placed.part.reach is None and placed.part.name in moving:
            message = (f"Can anybody reach `{placed.part.name}` where it moves? Write `reach none`, `reach fenced` "
                       "or `reach possible`.")
            yield RULE.at(placed.span, message)
