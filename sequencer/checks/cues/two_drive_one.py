"""Two scares, or two idles, that can run at the same time and drive the same output."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.moments import pins_driven
from sequencer.checks.overlap import Starts, can_overlap, starts_of
from sequencer.checks.saying import actions_of
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.schedule.plan import PlannedRoutine
from sequencer.show import Action, Show

_TWO = changed(LUNGE, ("stop on mushroom", '''    scare peep on rope trips:
        0 s: eyes on
        1 s: eyes off
stop on mushroom'''), ("sensor step ", "sensor rope like push_button: on box in2\nsensor step "))

RULE = Rule(
    "T004", "two drive one output",
    "Scares run side by side. Where two of them write one output the last to write wins, line by line, so neither does "
    "what it says. An idle gives way to the scares of its prop and is not meant here.",
    failing=_TWO,
    mended=changed(_TWO, ("0 s: eyes on\n        1 s: eyes off", "0 s: nose on\n        1 s: nose off"),
                   ("    lamp eyes: on box pwm0\n", "    lamp eyes: on box pwm0\n    lamp nose: on box pwm1\n")),
    severity=Severity.WARNING,
)
NEEDS = ("plan", "whole")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    starts = starts_of(facts.plan)
    writes = [(routine, _writes(facts.show, routine)) for routine in facts.plan.routines]
    for index, (one, by_one) in enumerate(writes):
        for other, by_other in writes[index + 1 :]:
            shared = [pin for pin in by_other if pin in by_one]
            shared = [pin for pin in shared if _clash(starts, (one, by_one[pin]), (other, by_other[pin]))]
            if shared:
                yield _finding(one, other, (by_one[shared[0]][0], by_other[shared[0]][0]), shared)


def _writes(show: Show, planned: PlannedRoutine) -> dict[PinName, list[Action]]:
    found: dict[PinName, list[Action]] = {}
    for action in actions_of(planned.routine):
        for pin in pins_driven(show, action):
            found.setdefault(pin, []).append(action)
    return found


def _clash(
    starts: Starts, one: tuple[PlannedRoutine, list[Action]], other: tuple[PlannedRoutine, list[Action]]
) -> bool:
    return can_overlap(starts, one, other)


def _finding(
    one: PlannedRoutine, other: PlannedRoutine, actions: tuple[Action, Action], shared: list[PinName]
) -> Finding:
    more = f" and {len(shared) - 1} more outputs" if len(shared) > 2 else " and one more output" if shared[1:] else ""
    message = (f"`{one.routine.name}` and `{other.routine.name}` can run at the same time and both drive "
               f"`{actions[1].who}`{more}; the last to write wins. Put them into one, or let one start the other.")
    labels = (Label(actions[0].span, f"`{one.routine.name}` drives it here"),
              Label(actions[1].span, f"`{other.routine.name}` drives it here"))
    return RULE.at(other.routine.span, message, labels=labels)
