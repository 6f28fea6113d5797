"""A sensor that nothing in the show looks at."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.sensor import Sensor
from sequencer.show import NeverWhile

RULE = Rule(
    "R011", "nothing listens to it",
    "A sensor that starts nothing and that no line waits for does nothing, however often somebody steps on it.",
    failing=LAMP + "sensor rope like push_button: on box in1\n", mended=LAMP, severity=Severity.NOTE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    heard = set(_heard(facts))
    for placed in facts.show.of_kind("sensor"):
        sensor = placed.part
        assert isinstance(sensor, Sensor)
        if sensor.role == "trigger" and sensor.sees is None and sensor.name not in heard:
            yield RULE.at(placed.span, f"Nothing starts on `{sensor.name}` and no line waits for it.")


def _heard(facts: Facts) -> Iterator[str]:
    show = facts.show
    for _, said in facts.said():
        yield from said.hears
    for safe in show.safes:
        yield from (edge.sensor for edge in safe.edges)
    for never in show.nevers:
        sides = (never.one, never.other) if isinstance(never, NeverWhile) else (never.first, never.second)
        yield from (side.who for side in sides)
    if show.night is not None:
        yield from (name for name, _, _ in show.night.passes)
