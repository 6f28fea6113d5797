"""A sound that cuts off another on the same player."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import BOARD
from sequencer.checks.facts import Facts
from sequencer.checks.moments import followers, on_path
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.rig.drive import Play, Silence
from sequencer.rig.speaker import Speaker
from sequencer.schedule.plan import Moment
from sequencer.show import Show
from sequencer.units import say_time

RULE = Rule(
    "T006", "a sound that cuts off another",
    "A player plays one sound at a time. A second one on the same output ends the first where it is.",
    # The example would need a sound; tests/checks/test_sounds.py has one.
    failing="", mended=BOARD, severity=Severity.WARNING,
)
NEEDS = ("plan",)


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.plan is not None
    for pin in _players(facts.show):

        def concerns(moment: Moment, pin: PinName = pin) -> bool:
            return pin in _sounds_on(facts.show, moment)

        for routine in facts.plan.routines:
            for one in followers(routine, concerns):
                lasts = one.first.ends_us[0] - one.first.earliest_us
                if isinstance(one.first.drive, Play) and isinstance(one.second.drive, Play) and one.gap_us[0] < lasts:
                    gap, clip = one.gap_us[0], one.first.drive.clip
                    when = "at the same moment" if gap <= 0 else f"{say_time(gap)} after it began"
                    message = f"This cuts off `{clip}` {when}, and it lasts {say_time(lasts)}{on_path(one.second)}."
                    label = Label(one.first.span, "the sound that is cut off")
                    yield RULE.at(one.second.span, message, labels=(label,))


def _players(show: Show) -> tuple[PinName, ...]:
    speakers = [placed.part for placed in show.of_kind("speaker")]
    return tuple(dict.fromkeys(
        speaker.pin_of(clip) for speaker in speakers if isinstance(speaker, Speaker) for clip in speaker.clips))


def _sounds_on(show: Show, moment: Moment) -> set[PinName]:
    drive = moment.drive
    if not isinstance(drive, Play | Silence):
        return set()
    speaker = show.parts[drive.speaker].part
    assert isinstance(speaker, Speaker)
    return {speaker.pin_of(clip) for clip in speaker.clips if isinstance(drive, Silence) or clip.name == drive.clip}
