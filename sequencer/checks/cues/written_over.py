"""Two actions of one moment on one output, of which only the last counts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.moments import grouped
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.schedule.plan import Moment, PlannedRoutine

RULE = Rule(
    "T013", "an action that another one undoes at once",
    "Where two actions drive one output in the same moment the last one wins, and the first does nothing: it never "
    "shows on the pin. One of the two was most likely meant for another part or another time.",
    failing=changed(LAMP, ("0 s: eyes on\n", "0 s: eyes on, eyes to 40 %\n")), mended=LAMP, severity=Severity.WARNING,
    source="the rules of the board, sequencer/steps/RULES.md, Outputs",
)
NEEDS = ("plan",)


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    seen: set[int] = set()
    for pin, moments in grouped(routine, _pins_of).items():
        once = [moment for moment in moments if not moment.again and not moment.goes_back]
        for first, second in pairwise(once):
            # Two parts on one pin are a fault of the rig, and said there.
            if _at_once(first, second) and id(first.action) not in seen and yard.taken[pin] == 1:
                seen.add(id(first.action))
                label = Label(second.span, "this one counts")
                message = f"This does nothing: `{second.action.who}` is driven again in the same moment."
                yield RULE.at(first.span, message, labels=(label,))


def _pins_of(moment: Moment) -> Iterator[PinName]:
    yield from dict.fromkeys(pin for command in moment.commands if (pin := getattr(command, "pin", None)) is not None)


def _at_once(first: Moment, second: Moment) -> bool:
    windows = [(one.earliest_us, one.latest_us, one.path) for one in (first, second)]
    return first.action is not second.action and windows[0] == windows[1]
