"""`never` and `at most` that are understood and that nothing proves yet."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity
from sequencer.show import NeverWhile

RULE = Rule(
    "R014", "not yet proved",
    "`never` and `at most` say what must not happen. Their names and words are checked, but nothing here proves them "
    "yet and the board does not enforce them, so they hold back nothing.",
    failing=LUNGE + "never: window.ram out while window.eyes off\n", mended=LUNGE, severity=Severity.NOTE,
    source="a limit of this version",
)


def find(facts: Facts) -> Iterator[Finding]:
    for never in facts.show.nevers:
        if isinstance(never, NeverWhile):
            says = f"`{never.one.who} {never.one.says}` while `{never.other.who} {never.other.says}`"
        else:
            first, second = never.first, never.second
            says = f"`{second.who} {second.says}` too soon beside `{first.who} {first.says}`"
        yield RULE.at(never.span, f"Not yet proved: {says} is neither ruled out by this check nor by the board.")
    for most in facts.show.at_mosts:
        message = (f"Not yet proved: more than {most.count} of {len(most.cylinders)} cylinders extending at once is "
                   "neither ruled out by this check nor by the board.")
        yield RULE.at(most.span, message)
