"""More than one board in a show."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import BOARD
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule

RULE = Rule(
    "R002", "several boards",
    "A show runs on one board. Two boards count time each by its own clock and stop each by itself, so one that "
    "drives half a prop could go on while the other has stopped.",
    failing=BOARD + "board crate like avr328\n", mended=BOARD, source="a limit of this tool",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    first, *others = yard.of_kind("board") or (None,)
    for other in others:
        assert first is not None
        message = (f"`{other.part.name}` is a second board beside `{first.part.name}`; a show runs on one: put all "
                   "on a larger board, or write a show for each.")
        yield RULE.at(other.span, message, labels=(Label(first.span, "the first board"),))
