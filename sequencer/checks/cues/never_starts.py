"""A scare that nothing can start."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import actions_of, listed
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.drive import StartRoutine
from sequencer.show import Routine, Show

RULE = Rule(
    "T007", "a scare that never starts",
    "A scare starts on a sensor, by the clock, or because another one starts it. One that has none of them only ever "
    "runs when it is tried by hand.",
    failing=changed(LAMP, ("scare glow on step trips:", "scare glow:")), mended=LAMP, severity=Severity.WARNING,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    running = _running(facts.show)
    for routine in facts.show.routines:
        if routine.name in running:
            continue
        by = _starters(facts.show, routine)
        if by:
            names = listed([f"`{name}`" for name in by], "or")
            message = f"`{routine.name}` never starts: only {names} would start it, and that never starts itself."
        else:
            message = f"`{routine.name}` never starts: it has no `on` and no `every`, and no line starts it."
        yield RULE.at(routine.span, message)


def _starters(show: Show, wanted: Routine) -> list[str]:
    return [one.name for one in show.routines if wanted.name in _started_by(one)]


def _started_by(routine: Routine) -> set[str]:
    return {d.routine for action in actions_of(routine) for d in action.drives if isinstance(d, StartRoutine)}


def _running(show: Show) -> set[str]:
    """Everything that can run: what starts by itself, and what that starts."""
    by_name = {routine.name: routine for routine in show.routines}
    found: set[str] = set()
    open_ = [one.name for one in show.routines if one.starts_by_itself]
    while open_:
        name = open_.pop()
        if name not in found and name in by_name:
            found.add(name)
            open_ += _started_by(by_name[name])
    return found
