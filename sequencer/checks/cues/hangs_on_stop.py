"""A line that asks a sensor which ends everything when it changes."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_edges
from sequencer.checks.saying import cues_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Span
from sequencer.show import Branch, Cue, IfSensor, Repeat, Routine, WhenSensor

RULE = Rule(
    "T014", "a line that hangs on a stop",
    "When a stop or the house alarm trips, every scare ends in that tick. So no line of a running scare ever finds "
    "it tripped: a wait for it always runs to its bound, an `if` always goes one way, and a `while` holds back "
    "nothing, or everything.",
    failing=changed(LUNGE, ("4 s: eyes off", "when mushroom trips, or after 2 s: eyes off")), mended=LUNGE,
)


def find(facts: Facts) -> Iterator[Finding]:
    ending = ending_edges(facts.show)
    for _, asked in facts.of_each(_asked):
        for sensor, span, what in asked:
            if sensor not in ending:
                continue
            word, trips = ending[sensor]
            always = "clear" if trips else "tripped"
            message = (f"`{sensor}` is the {word} of the show and always {always} while anything runs, so {what}; "
                       "ask a sensor of its own.")
            placed = facts.show.parts.get(sensor)
            labels = () if placed is None else (Label(placed.span, "this sensor"),)
            yield RULE.at(span, message, labels=labels)


def _asked(_: Yard, routine: Routine) -> tuple[tuple[str, Span, str], ...]:
    """Every sensor that a line asks, the place, and what comes of it where the answer is always the same."""
    by_lines = tuple(asked for cue in cues_of(routine.cues) for asked in _of_cue(cue))
    if routine.blocked_while is None:
        return by_lines
    return (routine.blocked_while, routine.span, f"`while` of `{routine.name}` has no use"), *by_lines


def _of_cue(cue: Cue) -> Iterator[tuple[str, Span, str]]:
    if isinstance(cue.when, WhenSensor):
        yield cue.when.edge.sensor, cue.when_span, "this wait has no use"
    match cue.block:
        case Branch(test=IfSensor(sensor=sensor)):
            yield sensor, cue.span, "this `if` always goes one way"
        case Repeat(until=until) if until is not None:
            yield until.sensor, cue.span, "this `repeat` does not hang on it"
