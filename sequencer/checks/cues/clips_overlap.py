"""A sound that cuts off another on the same player."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import TUNE, changed
from sequencer.checks.moments import Next, followers, grouped, on_path
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.rig.drive import Play, Silence
from sequencer.rig.speaker import Speaker
from sequencer.schedule.plan import Moment, PlannedRoutine
from sequencer.units import say_time

RULE = Rule(
    "T006", "a sound that cuts off another",
    "A player plays one sound at a time. A second one on the same output ends the first where it is.",
    failing=changed(TUNE, ("then: eyes off", "2 s: eyes off, throat plays growl")),
    mended=changed(TUNE, ("then: eyes off", "then: eyes off, throat plays growl")),
    severity=Severity.WARNING, source="the rules of the board, sequencer/steps/RULES.md, Outputs",
    companions={"growl.wav": "a sound of 4 s"},
)
NEEDS = ("plan",)


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    for moments in grouped(routine, lambda moment: _players(yard, moment)).values():
        for one in followers(routine, moments):
            yield from _cut_off(one)


def _players(yard: Yard, moment: Moment) -> frozenset[PinName]:
    """The outputs on which it plays a sound, or ends one."""
    drive = moment.drive
    if not isinstance(drive, Play | Silence):
        return frozenset()
    speaker = yard.parts[drive.speaker].part
    assert isinstance(speaker, Speaker)
    return frozenset(
        speaker.pin_of(clip) for clip in speaker.clips if isinstance(drive, Silence) or clip.name == drive.clip
    )


def _cut_off(one: Next) -> Iterator[Finding]:
    lasts = one.first.ends_us[0] - one.first.earliest_us
    if not (isinstance(one.first.drive, Play) and isinstance(one.second.drive, Play)) or one.gap_us[0] >= lasts:
        return
    gap, clip = one.gap_us[0], one.first.drive.clip
    when = "at the same moment" if gap <= 0 else f"{say_time(gap)} after it began"
    message = f"This cuts off `{clip}` {when}, and it lasts {say_time(lasts)}{on_path(one.second)}."
    yield RULE.at(one.second.span, message, labels=(Label(one.first.span, "the sound that is cut off"),))
