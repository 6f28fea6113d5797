"""An output, or a clip, that no cue asks anything of."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.checks.saying import all_actions, listed
from sequencer.checks.wires import clip_span
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import Play
from sequencer.rig.speaker import Speaker
from sequencer.show import Placed, Show

RULE = Rule(
    "R010", "nothing drives it",
    "A part that is wired up and never asked for is often a cue that was forgotten, or one that names another part.",
    failing=LAMP + "lamp nose: on box pwm1\n", mended=LAMP, severity=Severity.NOTE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    asked = {action.who for action in all_actions(show)}
    played = {(d.speaker, d.clip) for action in all_actions(show) for d in action.drives if isinstance(d, Play)}
    for placed in show.of_kind("valve", "lamp", "motor", "pump", "fogger"):
        if placed.part.name not in asked and not asked & set(_cylinders(show, placed)):
            yield RULE.at(placed.span, _sentence(show, placed))
    for placed in show.of_kind("speaker"):
        yield from _unplayed(show, placed, played)


def _cylinders(show: Show, valve: Placed) -> list[str]:
    return [placed.part.name for placed in show.of_kind("cylinder")
            if isinstance(placed.part, Cylinder) and placed.part.valve == valve.part.name]


def _sentence(show: Show, placed: Placed) -> str:
    moved = _cylinders(show, placed)
    if moved:
        return f"No cue moves {listed([f'`{name}`' for name in moved])}, so `{placed.part.name}` never switches."
    return f"No cue asks anything of `{placed.part.name}`."


def _unplayed(show: Show, placed: Placed, played: set[tuple[str, str]]) -> Iterator[Finding]:
    speaker = placed.part
    assert isinstance(speaker, Speaker)
    silent = [clip for clip in speaker.clips if (speaker.name, clip.name) not in played]
    if len(silent) == len(speaker.clips):
        yield RULE.at(placed.span, f"No cue plays anything on `{speaker.name}`.")
        return
    for clip in silent:
        yield RULE.at(clip_span(show, placed, clip), f"No cue plays `{clip.name}` on `{speaker.name}`.")
