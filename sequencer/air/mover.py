"""One cylinder among others: carried on window by window against the pressure before its valve, which is given.

It sleeps while its rod stands and its air has settled; its air is then part of what stands still on its node
(`standing`). A window can be done again, since the pressure at its end is only guessed until all who draw are known.
A motion that was reckoned once is followed again (`recordings`) as long as the supply is what it was then.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from sequencer.air import integrate as one
from sequencer.air.chambers import Chambers
from sequencer.air.cylinder import CylinderAir, Port, Spool
from sequencer.air.gas import GAS_CONSTANT_J_KG_K, T_ANR_K
from sequencer.air.integrate import LONGEST_STEP_S, Event, NotSettling
from sequencer.air.recordings import Air, Entry, Follower, Recordings
from sequencer.air.solver import compiled
from sequencer.air.spool import Command, Piece, Way, told_to
from sequencer.air.standing import Standing, StillPort, still_port
from sequencer.air.supply import PropAir

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
TOLERANCE = 2e-3
"""Largest error of a step; ten times that of a motion by itself, since the pressure before the valve is not known
better than that. With 5e-3 arrivals are as near to the reference, but the speed at the end of a cushion is 4 % off."""
SHIFT_STEPS = 2
"""Pieces of half a shift of a valve: with four, no arrival moves by more than 0.01 %."""
FIRST_STEP_S, WOKEN_STEP_S = 1e-3, 1e-2
"""What is tried first: after the start and where a rod sets out at once; before the valve of a rod that stood moves."""
AFTER_STEP_S = 3e-3
"""Nothing longer is tried first once the valve connects something else."""
SAME_S = 1e-9
"""Moments nearer than that are one: sums of binary fractions differ by some 1e-13 s."""
COLD = 2e-3
"""Warmth (T - T0) / T below which shut-in air counts as settled."""


@dataclass(frozen=True, slots=True)
class Seat:
    """A port's place among the states of the air; -1 where there is none."""

    port: Port
    cap: bool
    p: int
    q: int
    e: int


@dataclass(frozen=True, slots=True)
class Sleep:
    """A rod that stands, since when, and how its air stood then."""

    at_s: float
    ports: tuple[StillPort, ...]


class Mover:
    """`supplied_kg` and `exhausted_kg` count from 0 s; `track` holds the rod's (time, place, speed), `events` what
    happened.

    `chambers` are its pressures, where `keep_pressures` asks for them.
    `share` is the part of the flow of its valve that is its own, cap end and rod end, where it shares the valve.
    """

    def __init__(self, number: int, prop: PropAir, recordings: Recordings) -> None:
        self.number = number
        self.prop, self.cylinder = prop, replace(prop.cylinder, manifold=None)
        self.make_up = replace(one.make_up_of(self.cylinder), given=True)
        self.solver = compiled(self.make_up)(one.numbers_of(self.cylinder, TOLERANCE))
        self.seats = tuple(_seats(self.cylinder))
        self.pieces = [Piece(math.inf, *prop.before)]
        self._shifts: tuple[float, ...] = ()
        self.supplied_kg = self.exhausted_kg = 0.0
        self.share = (1.0, 1.0)
        self.track: list[tuple[float, float, float]] = [(0.0, self.cylinder.start_m, 0.0)]
        self.events: list[Event] = []
        self.now_s = 0.0
        self.air = Air(0, self.cylinder.start_m, 0.0, FIRST_STEP_S, ())
        self.sleep: Sleep | None = None
        self._rate_kg_s = 0.0
        self.chambers: Chambers | None = None
        self.follower = Follower(recordings, self.cylinder)
        self._coming: tuple[Entry, float, bool] | None = None
        self._connected: object = None
        self._laws: dict[object, tuple[Any, ...]] = {}

    @property
    def spool(self) -> Spool:
        return self.cylinder.spool

    @property
    def ways(self) -> tuple[Way, Way]:
        """What the valve connects cap and rod end to now."""
        return self.pieces[0].cap, self.pieces[0].rod

    def command(self, command: Command) -> None:
        """The valve is told to go another way. What it was told before and has not begun with, it never does; what it
        has begun with, it ends first (as `spool.shifts`)."""
        self.pieces, self._shifts = told_to(self.pieces, self._shifts, command, self.spool, SHIFT_STEPS)
        if self.sleep is None:
            self._begin()

    def due(self, until_s: float) -> bool:
        """Whether anything happens to it before that moment."""
        return self.sleep is None or self.pieces[0].until_s < until_s - SAME_S

    def settle_down(self, pressure_pa: float, standing: Standing) -> None:
        """At 0 s: the valve has stood as it stands, and the rod with it. A rod that cannot stand so is awake."""
        gases: list[float] = []
        for seat in self.seats:
            way = self.ways[0] if seat.cap else self.ways[1]
            p = pressure_pa if way == "S" else self.cylinder.ambient_pa
            p = p if seat.port.start_pa is None else seat.port.start_pa
            gases += [p, p * self._volume(seat, self.air.x) / RT0]
            gases += ([p] if seat.q >= 0 else []) + ([0.0] if seat.e >= 0 else [])
        self.air = Air(0, self.air.x, 0.0, FIRST_STEP_S, (*gases, pressure_pa))
        state = self._state()
        state.mode = one._decide(self.cylinder, state)
        settled = all(seat.port.start_pa is None for seat in self.seats)
        still = self._stands(state, self.pieces[0]) if not state.mode and settled else None
        if still is not None:
            self._lie_down(still, standing)
        else:
            self._rise(state.mode)

    def keep_pressures(self, standing: Standing) -> None:
        """From now on, the pressures of the chambers are kept."""
        places = [(0 if seat.cap else 1, seat.p) for seat in self.seats]
        self.chambers = Chambers(places, self.cylinder.ambient_pa)
        self.chambers.moves(self.now_s, self.air.gases)
        self.stands(self.now_s, standing)

    def stands(self, now_s: float, standing: Standing) -> None:
        """Lets those who keep pressures know of a rod that stands."""
        if self.chambers is not None and self.sleep is not None:
            self.chambers.stands(now_s, self.sleep.ports, standing.pressure_pa)

    def wake(self, at_s: float, standing: Standing) -> None:
        """Its air is its own again, at the pressure that it shared while it stood."""
        assert self.sleep is not None
        pressure, gases = standing.pressure_pa, list[float]()
        for seat, still in zip(self.seats, self.sleep.ports, strict=True):
            way = self.ways[0] if seat.cap else self.ways[1]
            p, warm = (pressure if way == "S" else still.pressure_pa), still.warmth(at_s - self.sleep.at_s)
            if way == "X":
                warm = still.warm
            mass = p * still.volume_m3 * (1 - warm) / RT0
            more = still.holds_kg(p, warm) - still.mass_kg
            if way == "S":
                standing.leave((id(self), seat.p), warm)
                self.supplied_kg += more
            elif way == "E":
                self.exhausted_kg -= more
            gases += [p, mass] + ([p] if seat.q >= 0 else []) + ([0.0] if seat.e >= 0 else [])
        standing.hold(id(self), None)
        self.sleep, self.now_s = None, at_s
        self.air = Air(0, self.air.x, 0.0, WOKEN_STEP_S, (*gases, pressure))
        self.track.append((at_s, self.air.x, 0.0))
        if self.chambers is not None:
            self.chambers.moves(at_s, gases)
        self._rise(one._decide(self.cylinder, self._state()))

    def _rise(self, mode: int) -> None:
        if mode:
            self.events.append(Event("go", self.now_s, self.air.x, 0.0, mode))
            self.air = replace(self.air, mode=mode)
        self._begin()

    def _begin(self) -> None:
        """What the valve does from now on, and so what it is that others may have done before."""
        told = tuple((round(piece.until_s - self.now_s, 7), piece.cap, piece.rod) for piece in self.pieces)
        self.follower.begins(told, self.air)

    def likely_kg(self, until_s: float, before_pa: float) -> float:
        """What it will probably draw until a moment: what it did then, else as fast as it did last."""
        length = until_s - self.now_s
        known = self.follower.next_kg(length, before_pa)
        return self._rate_kg_s * length if known is None else known

    def window(self, until_s: float, before_pa: float, after_pa: float, again: bool = False) -> float:
        """Carry on to a moment while the pressure before the valve goes straight from one to the other.

        Gives what was drawn, in kg. Until `accept` it can be done `again` with other pressures.
        """
        if again and self._coming is not None and not self._coming[2] and self._coming[0].fits_still(after_pa):
            return self._coming[0].drawn_kg + self._coming[1]
        length = until_s - self.now_s
        found = self.follower.find(length, before_pa, after_pa, self.air) if self.share == (1.0, 1.0) else None
        if found is None:
            entry = self._reckon(length, before_pa, after_pa)
            self.follower.offers(entry)
            self._coming = entry, 0.0, True
            return entry.drawn_kg
        entry, start = found
        fed, let_out = (0.0, 0.0) if start is None else self._held_more(start)
        self._coming = (replace(entry, exhausted_kg=entry.exhausted_kg - let_out) if let_out else entry), fed, False
        return entry.drawn_kg + fed

    def accept(self, until_s: float, standing: Standing) -> None:
        """What the last `window` came to is the present."""
        assert self._coming is not None
        entry, extra, reckoned = self._coming
        self.supplied_kg += entry.drawn_kg + extra
        self._rate_kg_s = entry.drawn_kg / entry.length_s if entry.still is None else 0.0
        self.exhausted_kg += entry.exhausted_kg
        self.follower.accept(entry, reckoned)
        for event in entry.events:
            self.events.append(replace(event, at_s=event.at_s + self.now_s))
            self.track.append((event.at_s + self.now_s, event.x_m, event.v_m_s))
        if self.chambers is not None:
            self.chambers.went(self.now_s, entry.samples)
        self.air = entry.end
        self.now_s = until_s
        self.track.append((self.now_s, entry.end.x, entry.end.v))
        if entry.passed:
            del self.pieces[: entry.passed]
        if entry.still is not None:
            self._lie_down(entry.still, standing)

    def booked_kg(self, now_s: float, standing: Standing) -> tuple[float, float]:
        """Supplied and exhausted up to now, with what its air has taken in or given while it stood."""
        supplied, exhausted = self.supplied_kg, self.exhausted_kg
        if self.sleep is None:
            return supplied, exhausted
        for seat, still in zip(self.seats, self.sleep.ports, strict=True):
            way = self.ways[0] if seat.cap else self.ways[1]
            if way != "X":
                p = standing.pressure_pa if way == "S" else still.pressure_pa
                more = still.holds_kg(p, still.warmth(now_s - self.sleep.at_s)) - still.mass_kg
                supplied, exhausted = (supplied + more, exhausted) if way == "S" else (supplied, exhausted - more)
        return supplied, exhausted

    @property
    def flows_kg(self) -> tuple[float, float]:
        """What came through the valve into the cap end and into the rod end in the last `window`."""
        return (0.0, 0.0) if self._coming is None else self._coming[0].flows_kg

    def held_kg(self) -> float:
        """The air in it that is not part of what stands on its node (`shared.SharedAir.held_kg`)."""
        if self.sleep is not None:
            return sum(still.mass_kg for still in self.sleep.ports if not still.fed)
        return sum(one.held_kg(self.cylinder, self.air.gases)[:2])

    def _held_more(self, start: Air) -> tuple[float, float]:
        """By how much more air a motion to be followed begins, in kg: where the supply feeds it, and where it vents."""
        fed = let_out = 0.0
        for seat in self.seats:
            more = start.gases[seat.p + 1] - self.air.gases[seat.p + 1]
            if seat.q >= 0:
                more += (start.gases[seat.q] - self.air.gases[seat.q]) * seat.port.node_m3 / RT0
            way = self.ways[0] if seat.cap else self.ways[1]
            fed += more if way == "S" else 0.0
            let_out += more if way == "E" else 0.0
        return fed, let_out

    def _state(self) -> one._State:
        air = self.air
        return one._State(0.0, air.h, air.mode, air.x, air.v, list(air.gases), one.Run(self.make_up, [], []))

    def _reckon(self, length: float, before_pa: float, after_pa: float) -> Entry:
        """Carry the state on by the solver, from event to event and from piece to piece."""
        state = self._state()
        state.gases[-1] = before_pa
        self.solver.ramp((after_pa - before_pa) / length)
        passed, drawn, gone, flows, still = 0, 0.0, 0.0, (0.0, 0.0), None
        held = one.held_kg(self.cylinder, state.gases)
        while state.t < length - SAME_S and still is None:
            piece = self.pieces[passed]
            ends = piece.until_s - self.now_s
            rests = ends > length + SAME_S and piece.cap_opening == piece.rod_opening == 1.0
            still = self._through(state, piece, min(ends, length), rests)
            before, held = held, one.held_kg(self.cylinder, state.gases)
            blown, other = held[2] - before[2], held[3] - before[3]
            cap, rod = held[0] - before[0] + blown, held[1] - before[1] + other
            flows = flows[0] + cap, flows[1] + rod
            drawn += (cap if piece.cap == "S" else 0.0) + (rod if piece.rod == "S" else 0.0)
            gone += blown + other - (cap if piece.cap == "E" else 0.0) - (rod if piece.rod == "E" else 0.0)
            if state.t >= ends - SAME_S:
                passed, state.h = passed + 1, min(state.h, AFTER_STEP_S)
        end = Air(state.mode, state.x, state.v, state.h, tuple(state.gases))
        return Entry(length, before_pa, after_pa, drawn, gone, flows, tuple(state.run.events), end, passed, still,
                     tuple(state.run.samples))

    def _through(self, state: one._State, piece: Piece, stop: float, rests: bool) -> tuple[StillPort, ...] | None:
        """Within a piece; where the valve `rests`, gives how the air stands once rod and air have come to rest."""
        solver, note, settle = self.solver, state.run.samples.append, rests
        self._connect(piece)
        while state.t < stop - 1e-12:
            if len(state.run.events) > one.MOST_EVENTS:
                raise NotSettling(f"{self.prop.name} stops and starts without end: friction or needle")
            state.h = min(state.h, LONGEST_STEP_S)
            if state.mode:
                why, state.t, state.h, state.x, state.v, *state.gases = solver.slide(
                    state.t, stop, state.h, state.mode, state.x, state.v, *state.gases, note)
            else:
                up, down = one._limits(self.cylinder, state.x)
                why, state.t, state.h, *state.gases = solver.rest(
                    state.t, stop, state.h, state.x, up, down, settle, *state.gases, note)
            if why == "lost":
                raise NotSettling(f"{self.prop.name}: no step is short enough; look at mass, dead volume and tube")
            if why == "settled":
                still = self._stands(state, piece)
                if still is not None:
                    return still
                settle = False
            elif why != "time":
                one._change(self.cylinder, state, why)
        return self._stands(state, piece) if rests and not state.mode else None

    def _connect(self, piece: Piece) -> None:
        key = piece.cap, piece.rod, piece.cap_opening, piece.rod_opening, self.share
        if key == self._connected:
            return
        laws = self._laws.get(key)
        if laws is None:
            if len(self._laws) > 200:
                self._laws.clear()
            laws = self._laws[key] = one.ways_of(_with_share(self.cylinder, self.share), self.make_up, piece)
        self.solver.connect(laws)
        self._connected = key

    def _stands(self, state: one._State, piece: Piece) -> tuple[StillPort, ...] | None:
        """How the air of a rod that stands is, or None where it has not settled or the rod would not stay."""
        found = []
        for seat in self.seats:
            way = piece.cap if seat.cap else piece.rod
            p, mass = state.gases[seat.p], state.gases[seat.p + 1]
            source = {"S": state.gases[-1], "E": self.cylinder.ambient_pa, "X": p}[way]
            tube = state.gases[seat.q] if seat.q >= 0 else source
            if abs(p - source) > 0.0101 * source or abs(tube - source) > 0.0101 * source:
                return None
            volume = self._volume(seat, state.x)
            blown = state.gases[seat.e] if seat.e >= 0 else 0.0
            still = still_port(self.cylinder, seat.port, way == "S", volume, (p, mass, tube, blown))
            if way == "X" and abs(still.warm) > COLD:
                return None
            found.append(still)
        low, high = self._bounds(tuple(found), state.x, piece)
        return tuple(found) if low <= state.gases[-1] <= high else None

    def _bounds(self, ports: tuple[StillPort, ...], x_m: float, piece: Piece) -> tuple[float, float]:
        """The pressures before the valve between which the rod stays where it is."""
        cylinder, ambient = self.cylinder, self.cylinder.ambient_pa
        up, down = one._limits(cylinder, x_m)
        steady, slope = cylinder.load.steady_n() + cylinder.load.rate_n_m * x_m, 0.0
        for seat, still in zip(self.seats, ports, strict=True):
            way = piece.cap if seat.cap else piece.rod
            area = seat.port.area_m2 if seat.cap else -seat.port.area_m2
            if way == "S":
                slope += area
                steady -= area * ambient
            elif way == "X":
                steady += area * (still.pressure_pa - ambient)
        if slope == 0:
            return (0.0, math.inf) if down <= steady <= up else (math.inf, 0.0)
        ends = sorted(((down - steady) / slope, (up - steady) / slope))
        return ends[0], ends[1]

    def _lie_down(self, ports: tuple[StillPort, ...], standing: Standing) -> None:
        self.sleep = Sleep(self.now_s, ports)
        for seat, still in zip(self.seats, ports, strict=True):
            if still.fed:
                standing.join((id(self), seat.p), still)
        standing.hold(id(self), self._bounds(ports, self.air.x, self.pieces[0]))

    def _volume(self, seat: Seat, x_m: float) -> float:
        return seat.port.dead_m3 + seat.port.area_m2 * (x_m if seat.cap else self.cylinder.stroke_m - x_m)


def _seats(cylinder: CylinderAir) -> Iterator[Seat]:
    at = 0
    for cap, port in ((True, cylinder.cap), (False, cylinder.rod)):
        if port.open:
            continue
        q = at + 2 if port.node_m3 > 0 else -1
        e = at + 2 + (port.node_m3 > 0) if port.quick_pa > 0 else -1
        yield Seat(port, cap, at, q, e)
        at += 2 + (q >= 0) + (e >= 0)


def _with_share(cylinder: CylinderAir, share: tuple[float, float]) -> CylinderAir:
    """The cylinder with so much of its valve, at the cap end and at the rod end."""
    if share == (1.0, 1.0):
        return cylinder
    return replace(cylinder, cap=_port_with(cylinder.cap, share[0]), rod=_port_with(cylinder.rod, share[1]))


def _port_with(port: Port, share: float) -> Port:
    return replace(port, supply=replace(port.supply, c_m3_s_pa=port.supply.c_m3_s_pa * share),
                   exhaust=replace(port.exhaust, c_m3_s_pa=port.exhaust.c_m3_s_pa * share))

