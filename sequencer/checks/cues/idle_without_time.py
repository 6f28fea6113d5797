"""An idle whose round takes no time."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.schedule.plan import PlannedRoutine
from sequencer.units import say_time

SHORTEST_US = 10_000
"""A round shorter than that is seen as no change at all (assumed)."""

_NOSE = LAMP + "lamp nose: on box pwm1\nidle breathing:\n"

RULE = Rule(
    "T010", "an idle without time in it",
    "An idle begins anew as soon as it is over. One whose lines all fall into one moment begins anew a thousand "
    "times a second, and does nothing that could be seen.",
    failing=_NOSE + "    0 s: nose on\n",
    mended=_NOSE + "    0 s: nose to 10 % over 2 s\n    then: nose to 2 % over 2 s\n",
    severity=Severity.WARNING, source="assumed: a round below 10 ms is seen as no change at all",
)
NEEDS = ("plan",)


def find_in(_yard: Yard, planned: PlannedRoutine) -> Iterator[Finding]:
    routine = planned.routine
    if routine.idle and routine.cues and planned.longest_us < SHORTEST_US and routine.rest_us < SHORTEST_US:
        message = (f"A round of `{routine.name}` takes {say_time(planned.longest_us)}, so it begins anew at "
                   "once, over and over; give it a fade, or a line with a later time.")
        yield RULE.at(routine.span, message)
