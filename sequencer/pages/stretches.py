"""Events of a timeline -> what goes on from when to when: trips, scares, clips. How it is drawn is left to others."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from sequencer.dryrun.timeline import Timeline
from sequencer.steps.events import ClipEnded, ClipSilenced, ClipStarted, Ended, InputChanged, Killed, Started


@dataclass(frozen=True, slots=True)
class Stretch:
    """Something that goes on from `begin` to `end` (ticks); `cut`: it was ended from outside."""

    begin: int
    end: int
    cut: bool = False
    word: str = ""


def clip_stretches(timeline: Timeline, speaker: str) -> list[Stretch]:
    """When each clip of a speaker plays."""
    names = {clip.index: clip.name for clip in timeline.yard.clips if clip.speaker == speaker}
    begun: dict[int, int] = {}
    found = []
    for event in timeline.events:
        if isinstance(event, ClipStarted) and event.clip in names:
            begun[event.clip] = event.tick
        elif isinstance(event, ClipEnded | ClipSilenced) and event.clip in begun:
            cut = isinstance(event, ClipSilenced)
            found.append(Stretch(begun.pop(event.clip), event.tick, cut, names[event.clip]))
    found += [Stretch(tick, timeline.ticks, False, names[clip]) for clip, tick in begun.items()]
    return sorted(found, key=lambda stretch: stretch.begin)


def run_stretches(timeline: Timeline) -> dict[int, list[Stretch]]:
    """When each routine runs, by its index."""
    begun: dict[int, int] = {}
    runs: dict[int, list[Stretch]] = defaultdict(list)
    for event in timeline.events:
        if isinstance(event, Started):
            begun[event.routine] = event.tick
        elif isinstance(event, Ended | Killed) and event.routine in begun:
            runs[event.routine].append(
                Stretch(begun.pop(event.routine), event.tick, isinstance(event, Killed))
            )
    for routine, tick in begun.items():
        runs[routine].append(Stretch(tick, timeline.ticks))
    return runs


def held_stretches(timeline: Timeline) -> dict[int, list[Stretch]]:
    """When each sensor is tripped, by the index of its input. One whose sense is turned round is tripped while its
    input is not."""
    turned = {one.index for one in timeline.yard.inputs if one.turned}
    since = dict.fromkeys(turned ^ set(timeline.tripped_at_start), 0)
    held: dict[int, list[Stretch]] = defaultdict(list)
    for event in timeline.events:
        if not isinstance(event, InputChanged):
            continue
        if event.tripped != (event.input in turned):
            since.setdefault(event.input, event.tick)
        elif event.input in since:
            held[event.input].append(Stretch(since.pop(event.input), event.tick))
    for index, tick in since.items():
        held[index].append(Stretch(tick, timeline.ticks))
    return held
