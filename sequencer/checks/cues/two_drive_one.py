"""Two scares, or two idles, that can run at the same time and drive the same output."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.moments import pins_driven
from sequencer.checks.overlap import Starts, Writer, can_overlap, can_run, starts_of
from sequencer.checks.saying import actions_of, counted, listed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.schedule.plan import Plan
from sequencer.show import Action, Routine
from sequencer.steps.layout import MOST_ROUTINES

MOST_NAMED = 3

_TWO = changed(LUNGE, ("stop on mushroom", '''    scare peep on rope trips:
        0 s: eyes on
        1 s: eyes off
stop on mushroom'''), ("sensor step ", "sensor rope like push_button: on box in2\nsensor step "))

RULE = Rule(
    "T004", "two drive one output",
    "Scares run side by side. Where two of them write one output the last to write wins, line by line, so neither "
    "does what it says. An idle gives way to the scares of its prop and is not meant here.",
    failing=_TWO,
    mended=changed(_TWO, ("0 s: eyes on\n        1 s: eyes off", "0 s: nose on\n        1 s: nose off"),
                   ("    lamp eyes: on box pwm0\n", "    lamp eyes: on box pwm0\n    lamp nose: on box pwm1\n")),
    severity=Severity.WARNING, source="the rules of the board, sequencer/steps/RULES.md",
)
NEEDS = ("plan", "whole")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    if len(facts.plan.routines) > MOST_ROUTINES:
        return  # no board takes so many, which is said first; each of them would be held against every other here
    together: dict[tuple[str, ...], list[list[Writer]]] = {}
    starts = starts_of(facts.plan)
    for writers in _writers(facts, facts.plan).values():
        clashing = _clashing(starts, [one for one in writers if can_run(starts, one)])
        if clashing:
            names = tuple(planned.routine.name for planned, _ in clashing)
            together.setdefault(names, []).append(clashing)
    for outputs in together.values():
        yield _finding(outputs)


def _writers(facts: Facts, plan: Plan) -> dict[PinName, list[Writer]]:
    """Who writes each output, in the order of the text, and by which of its actions."""
    found: dict[PinName, list[Writer]] = {}
    for planned, (_, written) in zip(plan.routines, facts.of_each(_writes), strict=True):
        for pin, actions in written.items():
            found.setdefault(pin, []).append((planned, actions))
    return found


def _writes(yard: Yard, routine: Routine) -> dict[PinName, list[Action]]:
    found: dict[PinName, list[Action]] = {}
    for action in actions_of(routine):
        for pin in pins_driven(yard.parts, action):
            found.setdefault(pin, []).append(action)
    return found


def _clashing(starts: Starts, writers: list[Writer]) -> list[Writer]:
    """Those that can run beside another one of them."""
    if len(writers) < 2:
        return []
    met: set[int] = set()
    alone = list(range(len(writers)))
    for index, one in enumerate(writers):
        # Of two that have both met another, nothing new can be learnt.
        for place in range(index + 1, len(writers)) if index not in met else alone:
            if place > index and can_overlap(starts, one, writers[place]):
                met |= {index, place}
                if len(met) == len(writers):
                    return writers
        alone = [place for place in alone if place > index and place not in met]
    return [writer for place, writer in enumerate(writers) if place in met]


def _finding(outputs: list[list[Writer]]) -> Finding:
    writers = outputs[0]
    both = "both" if len(writers) == 2 else "all"
    names = [f"`{planned.routine.name}`" for planned, _ in writers]
    if len(names) > MOST_NAMED:
        names = [*names[:MOST_NAMED], f"{len(names) - MOST_NAMED} more"]
    more = f" and {counted(len(outputs) - 1, 'more output')}" if len(outputs) > 1 else ""
    message = (f"{listed(names)} can run at the same time and {both} drive `{writers[-1][1][0].who}`{more}; the last "
               "to write wins. Put them into one, or let one start the other.")
    labels = [Label(actions[0].span, f"`{planned.routine.name}` drives it here")
              for planned, actions in writers[:MOST_NAMED]]
    return RULE.at(writers[-1][0].routine.span, message, labels=labels)
