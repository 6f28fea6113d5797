"""One drive of one action at a time -> what outputs do when, which cylinders travel, and when all that has ended.

Times count from whatever point the caller counts from. Where a cylinder stands comes in as a state and goes out
as a new one. Which steps may stand where in a routine is left to `body`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from sequencer.air.request import StrokeRequest, Told, UnknownAir
from sequencer.frozen import frozen
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import (
    Drive,
    Fade,
    Flash,
    Flicker,
    Motion,
    Play,
    Pulse,
    SetLevel,
    ValveTo,
)
from sequencer.rig.sensor import Sensor
from sequencer.rig.valve import Valve, coils
from sequencer.schedule.landings import Landing
from sequencer.schedule.plan import Travel, Window
from sequencer.schedule.standing import HOME, LONG_AGO, OUT, Past, Standing
from sequencer.schedule.supply import cylinders_by_valve, request_for, valve_of
from sequencer.show.model import Placed

if TYPE_CHECKING:
    from sequencer.air.from_rig import Toward, ValveWay
    from sequencer.air.stroke import Stroke

    Strokes = Callable[[StrokeRequest], Stroke]


SENSOR_MARGIN_US = 200_000
"""Least time beyond the slowest predicted arrival after which a missing end-of-travel report is a fault."""
MOST_ROUNDS, CLOSE_US = 16, 500
"""How often a lead that hangs on itself is closed in on; half a tick is close enough."""
SENSOR_MARGIN_SHARE = 4
"""Or that part of the slowest arrival, a quarter, where it is longer (assumed)."""


@frozen
class Awaited:
    """The sensor that reports the end, and how long after the time of the line it may take."""

    sensor: str
    bound_us: int


@frozen
class Started:
    """What one drive does at one time. `ends_us` bounds when it has ended, by time alone."""

    at_us: int
    drive: Drive
    commands: tuple[Drive, ...]
    ends_us: Window
    travels: tuple[Travel, ...] = ()
    awaited: Awaited | None = None
    goes_back: bool = False


@frozen
class Rig:
    """What motions need to know of a show: its parts, strokes, clip lengths, end-of-travel sensors.

    `takes` is how many us some landings take from their command, on a supply that gives way, whatever strokes say.
    """

    parts: Mapping[str, Placed]
    strokes: Strokes
    clip_us: Mapping[tuple[str, str], int]
    without_air: set[str] = field(default_factory=set)
    takes: Mapping[Landing, int] = field(default_factory=dict)
    _known: dict[tuple[str, float, Toward, tuple[Told, ...], ValveWay | None], Stroke | None] = field(
        default_factory=dict)
    _ends: dict[tuple[str | None, str | None], str] = field(default_factory=dict)
    _on: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def stroke(self, cylinder: str, start: float, toward: Toward, earlier: tuple[Told, ...] = (),
               by: ValveWay | None = None) -> Stroke | None:
        """None where nothing is known of its air; the cylinder is then noted in `without_air`.

        None also where no such cylinder can be reckoned, which a check of the rig says with its reason.
        """
        key = (cylinder, start, toward, earlier, by)
        if key not in self._known:
            request = request_for(self.parts, cylinder, start, toward, earlier, by)
            try:
                self._known[key] = None if request is None else self.strokes(request)
            except UnknownAir:
                self._known[key] = None
                self.without_air.add(cylinder)
            except ValueError:
                self._known[key] = None
        return self._known[key]

    def end_sensor(self, cylinder: str, end: str) -> str | None:
        """The sensor that sees the cylinder at that end."""
        if not self._ends:
            # The first one said wins; an entry of no cylinder marks that they have been gathered.
            self._ends[(None, None)] = ""
            for name, placed in self.parts.items():
                if isinstance(placed.part, Sensor):
                    self._ends.setdefault((placed.part.sees, placed.part.end), name)
        return self._ends.get((cylinder, end))

    def on(self, valve: str) -> tuple[str, ...]:
        """The cylinders on a valve."""
        if not self._on:
            # An entry of no valve marks that they have been gathered.
            self._on.update({"": (), **cylinders_by_valve(self.parts)})
        return self._on.get(valve, ())

    def stops(self, motion: Motion) -> bool:
        """Whether the valve of a motion can leave its cylinder standing on the way."""
        valve = valve_of(self.parts, motion.cylinder)
        return valve is not None and valve.ports in ("5/3", "2/2")

    def cylinders(self) -> tuple[str, ...]:
        return tuple(name for name, placed in self.parts.items() if isinstance(placed.part, Cylinder))


def strokes_from(rig: Rig, cylinder: str, standing: Standing, at_us: int, toward: Toward,
                 by: ValveWay | None = None) -> tuple[Stroke, ...]:
    """One stroke for each place from which the cylinder may set out at that time.

    Where its past is known and not over yet, from where that has brought it by then. `by` as in `request_for`.
    """
    past = _unsettled(rig, cylinder, standing, at_us)
    if past is not None:
        one = rig.stroke(cylinder, past.place, toward, past.before(at_us), by)
        if one is not None:
            return (one,)
    found = (rig.stroke(cylinder, place, toward, by=by) for place in sorted(standing.places(at_us)))
    return tuple(one for one in found if one is not None)


def _unsettled(rig: Rig, cylinder: str, standing: Standing, at_us: int) -> Past | None:
    """The past of a cylinder that it is not done with at that time; None where it is, or where it is not known."""
    past = standing.past
    if past is None or past.told[-1][0] > at_us:
        return None
    last_us, way = past.told[-1]
    if way not in ("out", "home", "fed"):
        return past
    toward, by = (way, None) if way != "fed" else ("out", way)
    last = rig.stroke(cylinder, past.place, toward, Past(past.place, past.told[:-1]).before(last_us), by)
    return past if last is not None and at_us - last_us < last.settled_us else None


def lead_of(rig: Rig, motion: Motion, toward: Toward, standing: Standing, lands_us: int,
            soonest_us: int = LONG_AGO) -> int:
    """How long before its landing the valve must be switched; the longest where there are several places.

    So the rod is there at that time at the latest, wherever it came from. Where it is still under way, or its air has
    not settled, where it comes from hangs on when it is switched: the later, the later it lands, so that is closed in
    on. The valve is not switched before `soonest_us`: where that is too late, the lead is that of a motion from then.
    """
    until = motion.fraction if motion.fraction is not None else _end(toward)
    lead = max((one.arrival_us(until) for place in sorted(standing.spots)
                if (one := rig.stroke(motion.cylinder, place, toward)) is not None), default=0)
    at_us = lands_us - lead
    if not standing.moves(at_us) and _unsettled(rig, motion.cylinder, standing, at_us) is None:
        return lead
    first = max(soonest_us, standing.told_us)
    then = lead_at(rig, motion, toward, standing, first)
    if first + then >= lands_us:
        return then if first > LONG_AGO else lead
    low, high = first, lands_us
    for _ in range(MOST_ROUNDS):
        at_us = min(max(lands_us - then, low + 1), high - 1)
        then = lead_at(rig, motion, toward, standing, at_us)
        if abs(at_us + then - lands_us) < CLOSE_US:
            break
        low, high = (at_us, high) if at_us + then < lands_us else (low, at_us)
        if not low < lands_us - then < high:
            then = lands_us - (low + high) // 2
    return lands_us - at_us


def lead_at(rig: Rig, motion: Motion, toward: Toward, standing: Standing, at_us: int) -> int:
    """How long after its valve is switched at that time a motion lands; the longest where there are several places."""
    until = motion.fraction if motion.fraction is not None else _end(toward)
    strokes = strokes_from(rig, motion.cylinder, standing, at_us, toward)
    return max((one.arrival_us(until) for one in strokes), default=0)


def direction(rig: Rig, motion: Motion, standing: Standing, lands_us: int) -> Toward | None:
    """Which way a motion goes; None where that hangs on a place that is not known."""
    if motion.toward != "between":
        return motion.toward
    toward = _far_end(standing.spots)
    if toward is not None and standing.moves(lands_us - lead_of(rig, motion, toward, standing, lands_us)):
        return _far_end(standing.spots | standing.left)
    return toward


def _far_end(places: frozenset[float]) -> Toward | None:
    ways: set[Toward] = {"out" if place < 0.5 else "home" for place in places}
    return ways.pop() if len(ways) == 1 else None


def start_motion(
    rig: Rig, state: dict[str, Standing], motion: Motion, toward: Toward, times: tuple[int, int],
    takes_us: int | None = None,
) -> tuple[Started, ...]:
    """Switches the valve of a cylinder at the first of `times` (us); the second is that of the cue line. Changes
    `state`. `takes_us`: how long the motion takes, where that is not what its stroke says."""
    at_us, line_us = times
    valve = valve_of(rig.parts, motion.cylinder)
    if valve is None:
        return ()
    until = {motion.cylinder: motion.fraction if motion.fraction is not None else _end(toward)}
    switching = _Switching(valve, motion, toward, motion.for_us, motion.lands, until, takes_us)
    return _switch(rig, state, switching, at_us, line_us)


def start_valve(
    rig: Rig, state: dict[str, Standing], drive: ValveTo, at_us: int, line_us: int
) -> tuple[Started, ...]:
    """Switches a valve by its own name. Changes `state`."""
    placed = rig.parts.get(drive.valve)
    if placed is None or not isinstance(placed.part, Valve):
        return ()
    toward: Toward = "out" if drive.way == "open" else "home"
    return _switch(rig, state, _Switching(placed.part, drive, toward, drive.for_us, False, {}), at_us, line_us)


def start_other(rig: Rig, drive: Drive, at_us: int) -> Started:
    """Everything that is no motion: what it starts ends by time."""
    match drive:
        case Fade(over_us=lasts) | Pulse(for_us=lasts) | Flash(for_us=lasts) | Flicker(for_us=lasts):
            pass
        case Play(speaker=speaker, clip=clip):
            lasts = rig.clip_us.get((speaker, clip), 0)
        case _:
            lasts = 0
    return Started(at_us, drive, (drive,), (at_us + lasts, at_us + lasts))


@frozen
class _Switching:
    """A valve that is to go one way, perhaps for a time only."""

    valve: Valve
    drive: Motion | ValveTo
    toward: Toward
    for_us: int | None
    lands: bool
    until: Mapping[str, float]
    takes_us: int | None = None


def _switch(
    rig: Rig, state: dict[str, Standing], what: _Switching, at_us: int, line_us: int
) -> tuple[Started, ...]:
    way = "closed" if isinstance(what.drive, ValveTo) and what.toward == "home" else what.toward
    commands = coils(what.valve, way)
    first = _go(rig, state, what, _effect(what.valve, way), at_us)
    ends = _ends(first, at_us)
    if what.for_us is None:
        last = commands[-1]
        coil = last.for_us if isinstance(last, Pulse) else 0
        awaited = _awaited(rig, what, line_us, ends[1])
        return (Started(at_us, what.drive, commands, (ends[0], max(ends[1], at_us + coil)), first, awaited),)
    back_us = at_us + what.for_us
    itself, back = _back(what.valve, what.toward, commands[-1], what.for_us)
    opposite: Toward = "home" if what.toward == "out" else "out"
    after = "stops" if what.valve.ports == "5/3" else opposite
    second = _go(rig, state, what, _effect(what.valve, after), back_us)
    forth = Started(at_us, what.drive, commands if itself is None else (*commands[:-1], itself),
                    (back_us, back_us), first)
    return forth, Started(back_us, what.drive, back, _ends(second, back_us), second, goes_back=True)


def _back(
    valve: Valve, toward: Toward, last: Drive, for_us: int
) -> tuple[Pulse | None, tuple[Drive, ...]]:
    """How a valve goes back after a time: by a pulse in place of the last command, or by commands then."""
    if isinstance(last, SetLevel) and last.level == 1.0:
        return Pulse(last.pin, for_us), ()
    opposite: Toward = "home" if toward == "out" else "out"
    return None, coils(valve, "unpowered" if valve.ports == "5/3" else opposite)


def _effect(valve: Valve, way: str) -> str:
    """What the way of a valve makes its cylinders do: go `out`, go `home`, stop where they are, or, `fed` at both ends,
    go out by the area of their rod."""
    if valve.ports == "5/3" and way in ("closed", "stops"):
        return "fed" if valve.centre == "pressurised" else "stops"
    if valve.ports == "2/2" and way in ("closed", "home"):
        return "stops"
    return "home" if way == "closed" else way


def _go(rig: Rig, state: dict[str, Standing], what: _Switching, effect: str, at_us: int) -> tuple[Travel, ...]:
    return tuple(_travel(rig, state, what, effect, name, at_us) for name in rig.on(what.valve.name))


def _travel(
    rig: Rig, state: dict[str, Standing], what: _Switching, effect: str, name: str, at_us: int
) -> Travel:
    before = state[name]
    if effect == "stops":
        past = _unsettled(rig, name, before, at_us)
        state[name] = _stopped(before, past, what.valve, at_us)
        stands = state[name]
        return Travel(name, before.position(at_us), "stops", None, max(stands.spots), (at_us, stands.rests_us))
    toward: Toward = "home" if effect == "home" else "out"
    way: ValveWay = "fed" if effect == "fed" else toward
    strokes = strokes_from(rig, name, before, at_us, toward, None if way == toward else way)
    until = what.until.get(name, _end(toward)) if what.toward == toward else _end(toward)
    longest = max(strokes, key=lambda one: one.end_us, default=None)
    past = _unsettled(rig, name, before, at_us)
    if past is not None:
        past = past.then(at_us, way)
    elif len(before.spots) == 1 and not before.moves(at_us):
        past = Past(max(before.spots), ((at_us, way),))
    later = 0
    if longest is not None and what.takes_us is not None and what.toward == toward and name in what.until:
        later = what.takes_us - longest.arrival_us(until)
    comes_us = at_us + later
    slowest = comes_us + max((one.slowest_us for one in strokes), default=0)
    state[name] = Standing(
        frozenset({_end(toward)}), before.places(at_us) - {_end(toward)}, slowest, at_us,
        comes_us + (longest.arrival_us(until) if longest else 0), what.lands and what.toward == toward, toward, past,
    )
    bands = [one.band_us(until) for one in strokes] or [(0, 0)]
    arrives = (comes_us + min(low for low, _ in bands), comes_us + max(high for _, high in bands))
    return Travel(name, before.position(at_us), toward, longest, until, arrives, later)


def _stopped(before: Standing, past: Past | None, valve: Valve, at_us: int) -> Standing:
    """A cylinder whose valve closes on it: it stays within what it was passing, where its past says."""
    spots = before.places(at_us)
    rests = at_us + valve.releases.us + valve.shift.us if before.moves(at_us) else at_us
    way: ValveWay = "vented" if valve.centre == "exhausted" else "holds"
    held = None if past is None else past.then(at_us, way)
    return Standing(spots, frozenset(), rests, at_us, rests, way="other", past=held)


def _ends(travels: tuple[Travel, ...], at_us: int) -> Window:
    return (max((travel.arrives_us[0] for travel in travels), default=at_us),
            max((travel.arrives_us[1] for travel in travels), default=at_us))


def _awaited(rig: Rig, what: _Switching, line_us: int, slowest_us: int) -> Awaited | None:
    """The end-of-travel sensor of a motion that goes to the very end, if there is one."""
    if not isinstance(what.drive, Motion) or what.drive.fraction is not None:
        return None
    sensor = rig.end_sensor(what.drive.cylinder, what.toward)
    if sensor is None:
        return None
    bound = max(slowest_us - line_us, 0)
    return Awaited(sensor, bound + max(SENSOR_MARGIN_US, bound // SENSOR_MARGIN_SHARE))


def _end(toward: str) -> float:
    return OUT if toward == "out" else HOME


