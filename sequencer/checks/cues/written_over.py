"""Two actions of one moment on one output, of which only the last counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.moments import grouped
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.schedule.plan import Moment, PlannedRoutine
from sequencer.show import Show

RULE = Rule(
    "T013", "an action that another one undoes at once",
    "Where two actions drive one output in the same moment the last one wins, and the first does nothing: it never "
    "shows on the pin. One of the two was most likely meant for another part or another time.",
    failing=changed(LAMP, ("0 s: eyes on\n", "0 s: eyes on, eyes to 40 %\n")), mended=LAMP, severity=Severity.WARNING,
    source="the rules of the board, sequencer/steps/RULES.md, Outputs",
)
NEEDS = ("plan",)


def find_in(show: Show, routine: PlannedRoutine) -> Iterator[Finding]:
    owners = Counter(pin for placed in show.parts.values() for _, pin in placed.part.pins())
    seen: set[int] = set()
    for pin, moments in grouped(routine, _pins_of).items():
        if owners[pin] > 1:  # two parts on one pin are a fault of the rig, and said there
            continue
        once = [moment for moment in moments if not moment.again and not moment.goes_back]
        for first, second in zip(once, once[1:], strict=False):
            if _at_once(first, second) and id(first.action) not in seen:
                seen.add(id(first.action))
                label = Label(second.span, "this one counts")
                message = f"This does nothing: `{second.action.who}` is driven again in the same moment."
                yield RULE.at(first.span, message, labels=(label,))


def _pins_of(moment: Moment) -> Iterator[PinName]:
    yield from dict.fromkeys(pin for command in moment.commands if (pin := getattr(command, "pin", None)) is not None)


def _at_once(first: Moment, second: Moment) -> bool:
    same_window = (first.earliest_us, first.latest_us, first.path) == (second.earliest_us, second.latest_us, second.path)
    return first.action is not second.action and same_window
