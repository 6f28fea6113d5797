"""A planned routine -> which of its moments follow which, how far apart, and what they do to valves and outputs.

Waits that the board draws, or that a sensor ends, only ever add up along a run. So the time between two moments
lies between the difference of their earliest and the difference of their latest times.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from sequencer.checks.saying import bodies_of
from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import Drive, Motion, Play, SetLevel, Silence, ValveTo
from sequencer.rig.speaker import Speaker
from sequencer.rig.valve import Valve, Way, coils
from sequencer.schedule.plan import Moment, PlannedRoutine, Window
from sequencer.show import Action, Cue, Placed, Repeat

Subject = TypeVar("Subject", bound=Hashable)

Sides = frozenset[tuple[int, int]]
"""Which side of which block (the block by its identity, the place of its side) a line stands on."""
NONE: Sides = frozenset()


@frozen
class Next:
    """A moment, one that can come next, and the least and the most time between them."""

    first: Moment
    second: Moment
    gap_us: Window

    @property
    def own_end(self) -> bool:
        """The second is only the end of the first, which was asked for a time."""
        return self.second.goes_back and self.second.action is self.first.action


def grouped(
    routine: PlannedRoutine, concerns: Callable[[Moment], Iterable[Subject]]
) -> Mapping[Subject, list[Moment]]:
    """The moments of a routine by what each of them concerns: a valve, a cylinder, a player."""
    found: dict[Subject, list[Moment]] = {}
    for moment in routine.moments:
        for subject in concerns(moment):
            found.setdefault(subject, []).append(moment)
    return found


def turns(
    routine: PlannedRoutine, moments: Iterable[Moment], way: Callable[[Moment], Hashable]
) -> list[Moment]:
    """Those that turn something round: not one that sends it the way that it surely goes, or where it stands."""
    sides = sides_of(routine.routine.cues)
    kept: list[Moment] = []
    last: Moment | None = None
    for moment in sorted(moments, key=lambda one: (one.earliest_us, one.latest_us)):
        stands = bool(moment.travels) and all(travel.before == travel.toward for travel in moment.travels)
        surely = last is not None and sides.get(id(last.cue), NONE) <= sides.get(id(moment.cue), NONE)
        if not stands and not (last is not None and surely and way(last) == way(moment)):
            kept.append(moment)
        last = moment
    return kept


def followers(routine: PlannedRoutine, moments: Iterable[Moment]) -> Iterator[Next]:
    """Each of the moments with every one of them that can be the next on some run."""
    chosen = sorted(moments, key=lambda one: (one.earliest_us, one.latest_us))
    if len(chosen) < 2:
        return
    sides = sides_of(routine.routine.cues)
    for index, first in enumerate(chosen):
        own = sides.get(id(first.cue), NONE)
        for place in range(index + 1, len(chosen)):
            second = chosen[place]
            others = sides.get(id(second.cue), NONE)
            if exclusive(own, others):
                continue
            yield Next(first, second, gap_between(first, second))
            if others <= own:
                break


def gap_between(first: Moment, second: Moment) -> Window:
    least = second.earliest_us - first.earliest_us
    return least, max(second.latest_us - first.latest_us, least)


def exclusive(one: Sides, other: Sides) -> bool:
    """Whether two lines stand on different sides of one block, so that a run takes at most one of them."""
    return any(block == elsewhere and side != opposite for block, side in one for elsewhere, opposite in other)


def sides_of(cues: Sequence[Cue]) -> Mapping[int, Sides]:
    """For each cue line, by its identity, the sides of choices and branches that it stands on."""
    found: dict[int, Sides] = {}
    _note_sides(cues, frozenset(), found)
    return found


def _note_sides(cues: Sequence[Cue], own: Sides, found: dict[int, Sides]) -> None:
    for cue in cues:
        found[id(cue)] = own
        choice = cue.block is not None and not isinstance(cue.block, Repeat)
        for side, body in enumerate(bodies_of(cue)):
            _note_sides(body, own | {(id(cue), side)} if choice else own, found)


def valve_switched(parts: Mapping[str, Placed], drive: Drive) -> tuple[Valve, Way] | None:
    """The valve that a motion or a command to a valve switches, and which way."""
    match drive:
        case Motion(cylinder=name):
            placed = parts.get(name)
            name = placed.part.valve if placed is not None and isinstance(placed.part, Cylinder) else ""
            way: Way = "home" if drive.toward == "home" else "out"
        case ValveTo(valve=name, way=way):
            pass
        case _:
            return None
    valve = parts.get(name)
    return (valve.part, way) if valve is not None and isinstance(valve.part, Valve) else None


def shifted_us(valve: Valve, way: Way) -> int:
    """From the command until the spool has come over: its response, on or off, and the shift itself."""
    last = coils(valve, way)[-1]
    released = isinstance(last, SetLevel) and last.level == 0.0
    return (valve.releases if released else valve.responds).us + valve.shift.us


def pins_driven(parts: Mapping[str, Placed], action: Action) -> Iterator[PinName]:
    """The outputs that an action may write."""
    for drive in action.drives:
        switched = valve_switched(parts, drive)
        if switched is not None:
            yield from (pin for _, pin in switched[0].pins())
        elif isinstance(drive, Play | Silence):
            speaker = parts[drive.speaker].part
            assert isinstance(speaker, Speaker)
            clips = (clip for clip in speaker.clips if isinstance(drive, Silence) or clip.name == drive.clip)
            yield from (speaker.pin_of(clip) for clip in clips)
        elif (pin := getattr(drive, "pin", None)) is not None:
            yield pin


def on_path(moment: Moment) -> str:
    """` (if mat is tripped)`, or nothing where it happens on every run."""
    return f" ({'; '.join(moment.path)})" if moment.path else ""
