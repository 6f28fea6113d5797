"""A show without a board: nothing could run it."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import BOARD
from sequencer.checks.facts import Facts
from sequencer.findings import Edit, Finding, Mend, Rule

RULE = Rule(
    "R001", "no board",
    "A board runs the show: it reads the sensors, switches the valves and goes to the safe state by itself. Which "
    "one it is decides how many outputs there are, which of them fade and how long the show may be.",
    failing='show "Marrow Lane"\n', mended=BOARD,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    if not facts.show.of_kind("board"):
        title = facts.show.title_span
        mend = Mend("add the small board", (Edit(title.after, "\nboard box like avr328"),))
        message = "The show has no board to run it; add one, such as `board box like avr328`."
        yield RULE.at(title, message, mends=(mend,))
