"""A sound that goes on long after everything else of its scare."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import TUNE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.drive import Play
from sequencer.schedule.plan import PlannedRoutine
from sequencer.units import say_time

LEAST_US = 10_000_000
"""A tail shorter than that is how most scares end; common practice, no source."""

RULE = Rule(
    "T005", "a sound that outlasts its scare",
    "A scare runs until its sounds have ended. A long bed of sound keeps it running, and it does not start again "
    "meanwhile, long after the last thing that guests see has happened.",
    failing=changed(TUNE, ("then: eyes off", "2 s: eyes off"), ("growl.wav", "wind.wav")), mended=TUNE,
    severity=Severity.NOTE, source="common practice, no source: a tail of 10 s and more is worth a word",
    companions={"wind.wav": "a sound of 60 s", "growl.wav": "a sound of 4 s"},
)
NEEDS = ("plan",)


def find_in(_yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    plays = [moment for moment in routine.moments if isinstance(moment.drive, Play)]
    others = [moment.ends_us[1] for moment in routine.moments if not isinstance(moment.drive, Play)]
    if plays and others:
        longest = max(plays, key=lambda moment: moment.ends_us[1])
        rest_us = longest.ends_us[1] - max(others)
        if rest_us >= LEAST_US and longest.ends_us[1] >= 2 * max(others):
            message = (f"This sound ends at {say_time(longest.ends_us[1])}, {say_time(rest_us)} after everything "
                       f"else of `{routine.routine.name}`, which runs so long and does not start again meanwhile.")
            yield RULE.at(longest.span, message)
