"""A sensor that nothing in the show looks at."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.checks.saying import cues_of
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.sensor import Sensor
from sequencer.show import Branch, Cue, IfSensor, NeverWhile, Repeat, Show, WhenSensor

RULE = Rule(
    "R011", "nothing listens to it",
    "A sensor that starts nothing and that no line waits for does nothing, however often somebody steps on it.",
    failing=LAMP + "sensor rope like push_button: on box in1\n", mended=LAMP, severity=Severity.NOTE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    heard = set(_heard(facts.show))
    for placed in facts.show.of_kind("sensor"):
        sensor = placed.part
        assert isinstance(sensor, Sensor)
        if sensor.role == "trigger" and sensor.sees is None and sensor.name not in heard:
            yield RULE.at(placed.span, f"Nothing starts on `{sensor.name}` and no line waits for it.")


def _heard(show: Show) -> Iterator[str]:
    for routine in show.routines:
        yield from (edge.sensor for edge in routine.starts)
        if routine.blocked_while is not None:
            yield routine.blocked_while
        for cue in cues_of(routine.cues):
            yield from _heard_by_line(cue)
    for safe in show.safes:
        yield from (edge.sensor for edge in safe.edges)
    for never in show.nevers:
        sides = (never.one, never.other) if isinstance(never, NeverWhile) else (never.first, never.second)
        yield from (side.who for side in sides)
    if show.night is not None:
        yield from (name for name, _, _ in show.night.passes)


def _heard_by_line(cue: Cue) -> Iterator[str]:
    if isinstance(cue.when, WhenSensor):
        yield cue.when.edge.sensor
    match cue.block:
        case Repeat(until=edge) if edge is not None:
            yield edge.sensor
        case Branch(test=IfSensor(sensor=sensor)):
            yield sensor
