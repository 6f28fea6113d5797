"""A night that is understood and that nothing plays through yet."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity

_NIGHT = "night:\n    opens 6:00 pm, closes 10:30 pm\n    groups 40 per hour, of 2 to 5\n    passes step\n"

RULE = Rule(
    "R015", "not yet simulated",
    "`night` says how visitors come. It is checked and kept, but the evening is not played through yet, so air, heat "
    "and waiting over hours are not looked at.",
    failing=LAMP + _NIGHT, mended=LAMP, severity=Severity.NOTE, source="a limit of this version",
)


def find(facts: Facts) -> Iterator[Finding]:
    night = facts.show.night
    if night is not None:
        message = (f"Not yet simulated: an evening of {night.groups_per_hour:g} groups an hour is read, and not played "
                   "through.")
        yield RULE.at(night.span, message)
