"""A show that moves something and has no stop input."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions import caution
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_inputs
from sequencer.findings import Finding, Rule, Severity

MOVES = ("valve", "motor", "pump", "fogger")

RULE = Rule(
    "R012", "no stop input",
    "A stop that the board acts on by itself, in the tick it settles and without a laptop, is the least a prop that "
    "moves should have. It is an input of a show controller and no safety device: the button that cuts coil power and "
    "vents the air is wired beside it.",
    failing=changed(LUNGE, ("sensor mushroom like stop_mushroom: on box in0\n", ""),
                    ("stop on mushroom trips:", "stop:")),
    mended=LUNGE, severity=Severity.WARNING,
    source="ISO 13850 and IEC 60204-1 ask for an emergency stop in hardware; from memory",
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    moves = show.of_kind(*MOVES)
    if moves and "stop" not in ending_inputs(show).values():
        message = (f"This show drives `{moves[0].part.name}` and has no sensor of `kind stop`; add one, such as "
                   f"`sensor mushroom like stop_mushroom: on box in0`. {caution('stop').text}")
        yield RULE.at(show.title_span, message)
