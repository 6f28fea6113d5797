"""An output, or a clip, that no cue asks anything of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.checks.saying import listed
from sequencer.checks.wires import clips_said
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.drive import Play
from sequencer.rig.speaker import Speaker
from sequencer.schedule.supply import cylinders_by_valve
from sequencer.show import Placed

RULE = Rule(
    "R010", "nothing drives it",
    "A part that is wired up and never asked for is often a cue that was forgotten, or one that names another part.",
    failing=LAMP + "lamp nose: on box pwm1\n", mended=LAMP, severity=Severity.NOTE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    said = [said for _, said in facts.said()]
    safe = [action for safe in show.safes for action in safe.actions]
    asked = {action.who for action in safe}.union(*(one.parts for one in said))
    played = {(drive.speaker, drive.clip) for action in safe for drive in action.drives if isinstance(drive, Play)}
    played = played.union(*(one.plays for one in said))
    moved_by = cylinders_by_valve(show.parts)
    for placed in show.of_kind("valve", "lamp", "motor", "pump", "fogger"):
        moved = moved_by.get(placed.part.name, ())
        if placed.part.name not in asked and asked.isdisjoint(moved):
            yield RULE.at(placed.span, _sentence(placed.part.name, moved))
    for placed in show.of_kind("speaker"):
        yield from _unplayed(placed, played)


def _sentence(name: str, moved: Sequence[str]) -> str:
    if moved:
        return f"No cue moves {listed([f'`{cylinder}`' for cylinder in moved])}, so `{name}` never switches."
    return f"No cue asks anything of `{name}`."


def _unplayed(placed: Placed, played: set[tuple[str, str]]) -> Iterator[Finding]:
    speaker = placed.part
    assert isinstance(speaker, Speaker)
    silent = [(clip, span) for clip, span in clips_said(placed) if (speaker.name, clip.name) not in played]
    if len(silent) == len(speaker.clips):
        yield RULE.at(placed.span, f"No cue plays anything on `{speaker.name}`.")
        return
    for clip, span in silent:
        yield RULE.at(span, f"No cue plays `{clip.name}` on `{speaker.name}`.")
