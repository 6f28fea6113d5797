"""A scare that nothing can start."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import listed
from sequencer.findings import Finding, Rule, Severity
from sequencer.show import Show

RULE = Rule(
    "T007", "a scare that never starts",
    "A scare starts on a sensor, by the clock, or because another one starts it. One that has none of them only ever "
    "runs when it is tried by hand.",
    failing=changed(LAMP, ("scare glow on step trips:", "scare glow:")), mended=LAMP, severity=Severity.WARNING,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    starts = {routine.name: said.starts for routine, said in facts.said()}
    running = _running(facts.show, starts)
    starters: dict[str, list[str]] = {}
    for name, started in starts.items():
        for other in started:
            starters.setdefault(other, []).append(name)
    for routine in facts.show.routines:
        if routine.name not in running:
            yield RULE.at(routine.span, _sentence(routine.name, starters.get(routine.name, ())))


def _sentence(name: str, starters: Sequence[str]) -> str:
    if starters:
        names = listed([f"`{starter}`" for starter in starters], "or")
        return f"`{name}` never starts: only {names} would start it, and that never starts itself."
    return f"`{name}` never starts: it has no `on` and no `every`, and no line starts it."


def _running(show: Show, starts: Mapping[str, frozenset[str]]) -> set[str]:
    """Everything that can run: what starts by itself, and what that starts."""
    found: set[str] = set()
    open_ = [one.name for one in show.routines if one.starts_by_itself]
    while open_:
        name = open_.pop()
        if name not in found and name in starts:
            found.add(name)
            open_ += starts[name]
    return found
