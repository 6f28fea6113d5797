"""A scare whose own trigger holds it back."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Label, Rule, Severity

_ROPE = changed(LAMP, ("lamp eyes", "sensor rope like push_button: on box in1\nlamp eyes"))

RULE = Rule(
    "T011", "a scare that its own trigger holds back",
    "`while mat tripped` refuses every start while the mat is tripped, and in the moment in which the mat trips it "
    "is tripped. A sensor that has tripped starts nothing more until it has cleared and trips again, so the line is "
    "not needed for that.",
    failing=changed(_ROPE, ("step trips:\n", "step trips:\n    while step tripped\n")),
    mended=changed(_ROPE, ("step trips:\n", "step trips:\n    while rope tripped\n")),
    severity=Severity.WARNING, source="the rules of the board, sequencer/steps/RULES.md, Starting",
)


def find(facts: Facts) -> Iterator[Finding]:
    for routine in facts.show.routines:
        for edge in routine.starts:
            if edge.trips and edge.sensor == routine.blocked_while:
                message = (f"`{routine.name}` never starts on this: when `{edge.sensor}` trips it is tripped, and "
                           f"`while {edge.sensor} tripped` refuses every start then; take that line out.")
                yield RULE.at(edge.span, message, labels=(Label(routine.span, "held back by `while`"),))
