"""The steps that a dry run took -> which line of the text did what when, waits for sensors, and landings.

`places` is a table of (file, line, first column, column behind the last, who, routine, what the step says); `marks`
are (tick as step, index of a place). A landing has the tick that was asked for, the band that the plan gives (fastest,
slowest), and when the rod was there, or None.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from sequencer.dryrun.timeline import Timeline, Track
from sequencer.findings import Span
from sequencer.pages.html.window import Window
from sequencer.rig.drive import Motion
from sequencer.schedule import Compiled
from sequencer.schedule.plan import Moment, Plan, ticks_of

WAITS = ("await_input", "await_end")
SILENT = ("end", "wait", "until", "wait_random", "repeat", "repeat_for", "repeat_until", "again", "mark", "unmark",
          "jump", *WAITS)
"""Steps that only pass time or lead elsewhere: no cue by themselves."""
NEAR = 0.002
"""A rod this near to its goal, as a share of the stroke, is there."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the text a step comes from, and of which routine."""

    span: Span
    routine: int
    note: str


@dataclass(frozen=True, slots=True)
class Landing:
    """One `lands` as it came out. Ticks; `until` is the goal as a share of the stroke."""

    cylinder: str
    span: Span
    asked: int
    fastest: int
    slowest: int
    until: float
    arrived: int | None

    @property
    def off(self) -> int | None:
        """Ticks after the time asked for; less than 0 is early."""
        return None if self.arrived is None else self.arrived - self.asked


@dataclass(frozen=True, slots=True)
class Cues:
    """`marks` are (tick, index of a place); `waits` (begin, end, routine, index of the input)."""

    places: tuple[Place, ...] = ()
    marks: tuple[tuple[int, int], ...] = ()
    waits: tuple[tuple[int, int, int, int], ...] = ()
    landings: tuple[Landing, ...] = ()


def cues_of(timeline: Timeline, compiled: Compiled, plan: Plan | None, window: Window) -> Cues:
    """Everything that the trail tells within the window; nothing where the run was made without one."""
    numbers: dict[Place, int] = {}
    marks: dict[tuple[int, int], None] = {}
    routines = compiled.program.routines
    for tick, routine, at in timeline.trail:
        if routines[routine].steps[at].op in SILENT or not window.holds(tick):
            continue
        source = compiled.sources[routine][at]
        place = Place(source.span, routine, source.note)
        marks[tick, numbers.setdefault(place, len(numbers))] = None
    places, rows = tuple(numbers), tuple(sorted(marks))
    landings = tuple(_landings(timeline, plan, places, rows)) if plan is not None else ()
    return Cues(places, rows, tuple(_waits(timeline, compiled, window)), landings)


def _waits(timeline: Timeline, compiled: Compiled, window: Window) -> Iterator[tuple[int, int, int, int]]:
    """A wait begins when its step is first looked at and ends with the next step of its routine, or with the routine.
    """
    routines = compiled.program.routines
    since: dict[int, tuple[int, int]] = {}
    ends = {event.tick: event.routine for event in timeline.events if type(event).__name__ == "Killed"}
    found = []
    for tick, routine, at in timeline.trail:
        step = routines[routine].steps[at]
        waiting = since.get(routine)
        if waiting is not None and waiting[1] != at:
            input_index = routines[routine].steps[waiting[1]].args[0]
            found.append((waiting[0], tick, routine, input_index))
            del since[routine]
        if step.op in WAITS:
            since.setdefault(routine, (tick, at))
    for routine, (begin, at) in since.items():
        cut = [tick for tick, number in ends.items() if number == routine and tick >= begin]
        found.append((begin, min([*cut, timeline.ticks]), routine, routines[routine].steps[at].args[0]))
    for begin, end, routine, number in sorted(found):
        if begin < end and end > window.begin and begin < window.end:
            yield max(begin, window.begin), min(end, window.end), routine, number


def _landings(
    timeline: Timeline, plan: Plan, places: tuple[Place, ...], marks: tuple[tuple[int, int], ...]
) -> Iterator[Landing]:
    lands: dict[tuple[int, Span], list[Moment]] = defaultdict(list)
    for number, planned in enumerate(plan.routines):
        for moment in planned.moments:
            drive = moment.drive
            if isinstance(drive, Motion) and drive.lands and not moment.goes_back and not moment.again:
                lands[number, moment.span].append(moment)
    tracks = {track.cylinder: track for track in timeline.tracks}
    for tick, index in marks:
        place = places[index]
        for moment in lands.get((place.routine, place.span), ())[:1]:
            for travel in moment.travels:
                track = tracks.get(travel.cylinder)
                if track is None or travel.cylinder != getattr(moment.drive, "cylinder", None):
                    continue
                asked = tick + ticks_of(moment.written_us[0] - moment.earliest_us)
                fastest = tick + ticks_of(travel.arrives_us[0] - moment.earliest_us)
                slowest = tick + ticks_of(travel.arrives_us[1] - moment.latest_us)
                yield Landing(travel.cylinder, place.span, asked, min(fastest, slowest), max(fastest, slowest),
                              travel.until, arrival(track, tick, travel.until))


def arrival(track: Track, since: int, until: float) -> int | None:
    """The tick by which the rod, sent at `since`, is at `until`; None where it never comes there on that way."""
    movement = next((one for one in track.movements if one.commanded == since), None)
    if movement is None:
        return None
    low, high = sorted((movement.start, movement.reached))
    if not low - NEAR <= until <= high + NEAR:
        return None
    if not movement.cut and abs(movement.reached - until) <= NEAR:
        return movement.ends
    times = [us for us, _ in track.points]
    first = max(bisect_left(times, movement.leaves * 1000) - 1, 0)
    outward = movement.reached > movement.start
    for (us0, y0), (us1, y1) in zip(track.points[first:], track.points[first + 1 :], strict=False):
        if us1 > movement.ends * 1000 + 1000:
            break
        if (y1 >= until - 1e-9) if outward and y1 > y0 else (y1 <= until + 1e-9 and y1 < y0):
            share = min((until - y0) / (y1 - y0), 1.0)
            return ceil((us0 + share * (us1 - us0)) / 1000 - 1e-6)
    return movement.ends
