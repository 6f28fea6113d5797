"""The rods that hang on one compressor, moved together while the dry run goes on.

The air is carried on by `air.shared` in the order of time and never beyond what the board may still do: up to the
least time in which any valve can answer (`horizon`). So a sensor at the end of a motion answers in the tick in which
the rod gets there, under the pressure that all others have left, and what the board then does is not foreseen.
Nothing is left out that `shared_run` does not leave out too: commands that come one by one differ from commands that
are known beforehand only in where the windows lie (measured: an arrival by at most 4 ticks, 0.5 %).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from math import ceil, floor

from sequencer.air.carrying import Knot
from sequencer.air.from_rig import command_of
from sequencer.air.gas import P_ATMOSPHERE_PA, std_l_of_kg
from sequencer.air.integrate import Event as RodEvent
from sequencer.air.mover import Mover
from sequencer.air.shared import SharedAir
from sequencer.air.spool import Command
from sequencer.dryrun.air_yard import AirYard
from sequencer.dryrun.motion import AT_END, Chambers, Movement, Point, RodPlan, Toward, place_at
from sequencer.dryrun.pressures import straightened
from sequencer.dryrun.spool import Way
from sequencer.dryrun.timeline import Drawn, Series
from sequencer.rig.valve import Valve

SLIGHT = 0.01
"""A rod that shifts by less than this of its way, and stops between its ends, has not gone anywhere."""
REBOUND = 0.1
"""Nor has one that its cushion throws back by less than this of its way, after the motion that it was sent on."""


class CoupledRod:
    """The rod of one cylinder on a supply. Times in us since tick 0."""

    def __init__(self, plan: RodPlan, mover: Mover, valve: Valve, way: Way) -> None:
        self.plan, self.valve, self.way = plan, valve, way
        self.points: list[Point] = [(0, self._share(mover, mover.cylinder.start_m))]
        self.movements: list[Movement] = []
        self.mover = mover
        self._seen_track = self._seen_events = 0
        self._commanded: list[int] = [0]
        self._going: Movement | None = None
        self._resting: Movement | None = None
        self._aside: float | None = None

    @property
    def moves(self) -> bool:
        """Whether it slides, or its valve is about to shift."""
        return (self.mover.sleep is None and self.mover.air.mode != 0) or len(self.mover.pieces) > 1

    @property
    def awake(self) -> bool:
        return self.mover.sleep is None or len(self.mover.pieces) > 1

    def position(self, us: float) -> float:
        """Where the rod stands, 0 home to 1 out; where it was last, if the air has not been carried that far."""
        return place_at(self.points, us)

    def at_end(self, us: float, out: bool) -> bool:
        """Whether a sensor at that end sees the rod."""
        return _sees(self.position(us), out)

    def commanded(self, tick: int, way: Way) -> None:
        self.way = way
        self._commanded.append(tick)

    def follow(self) -> tuple[list[tuple[int, int, bool]], list[Movement]]:
        """What has come since: what its sensors see from which tick on (tick, input, sees), and motions that are
        over."""
        track, anew = self.mover.track, len(self.points)
        for at_s, x, _ in track[self._seen_track:]:
            us, share = round(at_s * 1e6), self._share(self.mover, x)
            if us > self.points[-1][0]:
                self.points.append((us, share))
            else:
                self.points[-1] = (us, share)
        self._seen_track = len(track)
        changes = [change for index, out in self.plan.ends for change in _crossings(self.points[anew - 1:], index, out)]
        begun = len(self.movements)
        for event in self.mover.events[self._seen_events:]:
            self._take(event)
        self._seen_events = len(self.mover.events)
        if self._resting is not None and not self.moves:
            self._close(self._resting)
        return sorted(changes, key=lambda change: change[0]), self.movements[begun:]

    def _take(self, event: RodEvent) -> None:
        tick, share = _tick(event.at_s), self._share(self.mover, event.x_m)
        toward: Toward = "out" if event.toward > 0 else "home"
        told = self.told_at(tick)
        main = self._going or self._resting
        if event.kind == "go":
            if main is not None and main.commanded == told:
                # On its way on after a stop, or thrown back by its cushion.
                self._aside = None if toward == main.toward else share
                self._going, self._resting = (main, None) if toward == main.toward else (None, main)
                return
            if main is not None:
                self._close(main)
            self._going, self._resting = Movement(self.plan.name, toward, told, tick, tick, share, share), None
            return
        if main is not None and self._aside is not None and toward != main.toward:
            begun, self._aside = self._aside, None
            if abs(share - begun) < REBOUND:
                return
            self._close(main)
            main = Movement(self.plan.name, toward, told, tick, tick, begun, share)
        if main is None:
            return
        cut = event.kind == "stop" and told > main.leaves
        self._going, self._resting = None, replace(main, ends=tick, reached=share, cut=cut)
        if event.kind == "hit":
            self._close(self._resting)

    def _close(self, movement: Movement) -> None:
        self._resting = None
        same = bool(self.movements) and self.movements[-1].commanded == movement.commanded
        if abs(movement.reached - movement.start) >= (REBOUND if same else SLIGHT) or movement.cut:
            self.movements.append(movement)

    def told_at(self, tick: int) -> int:
        """When the valve was last told something before a tick."""
        return max((one for one in self._commanded if one <= tick), default=0)

    def moves_after(self, us: int) -> bool:
        """Whether it is under way; the air has been carried about that far."""
        return self.moves

    def movements_until(self, tick: int) -> tuple[Movement, ...]:
        """All motions; one that is under way as far as it has got."""
        going = self._going
        if going is not None:
            return (*self.movements, replace(going, ends=tick, reached=self.position(tick * 1000)))
        return (*self.movements, *([self._resting] if self._resting is not None else []))

    def knots(self, begin_us: int, end_us: int) -> Iterator[Knot]:
        """Place and speed at the ends of the windows between two moments, and where the rod met an end or stood."""
        track, (low, high) = self.mover.track, self.mover.cylinder.ends_m
        first = bisect_left(track, begin_us / 1e6, key=lambda one: one[0])
        for at_s, x, v in track[first:]:
            if at_s * 1e6 > end_us:
                return
            yield at_s * 1e6, self._share(self.mover, x), v / (high - low)
            if v != 0 and x in (low, high):
                yield at_s * 1e6, self._share(self.mover, x), 0.0

    def pressures(self, until_us: int) -> Iterator[Chambers]:
        """The pressures in its chambers, where they were kept, up to a moment."""
        for at_s, cap, rod in self.mover.chambers.rows if self.mover.chambers is not None else ():
            if at_s * 1e6 > until_us:
                return
            yield at_s * 1e6, cap, rod

    def _share(self, mover: Mover, x_m: float) -> float:
        low, high = mover.cylinder.ends_m
        return min(max((x_m - low) / (high - low), 0.0), 1.0)


class AirRun:
    """One compressor with its rods and blowing valves while the dry run goes on."""

    def __init__(self, plan: AirYard, rods: Mapping[str, RodPlan], pressures: bool = False) -> None:
        self.plan = plan
        yard = plan.yard
        self.air = SharedAir(yard.props, yard.supply, yard.nozzles)
        if pressures:
            self.air.keep_pressures()
        self.rods = [CoupledRod(rods[mover.prop.name], mover, valve, way) for mover, valve, way in
                     zip(self.air.movers, plan.driven_by, plan.ways, strict=True)]
        self._nozzles = {name: len(self.rods) + at for at, name in enumerate(plan.valves)}
        spools = [prop.cylinder.spool for prop in yard.props] + [one.spool for one in yard.nozzles]
        self._answer_s = min((min(spool.on_s, spool.off_s) for spool in spools), default=0.0)
        for rod in self.rods:
            rod.follow()

    @property
    def watched(self) -> bool:
        """Whether a rod is under way that a sensor waits for."""
        return any(rod.plan.ends and rod.awake for rod in self.rods)

    @property
    def moves(self) -> bool:
        return any(rod.moves for rod in self.rods)

    def horizon(self, tick: int) -> int:
        """The last tick up to which the air goes on the same whatever the board does from `tick` on."""
        now_s = tick / 1000
        reach = now_s + self._answer_s
        for mover in self.air.movers:
            # A shift that has not begun yet may still be taken back.
            begins = mover.pieces[0].until_s
            if now_s < begins <= reach:
                reach = begins - 1e-6
        return max(floor(reach * 1000 + 1e-9), tick)

    def command(self, tick: int, valve: str, way: Way) -> bool:
        """A valve goes that way at this tick; whether it drives anything here."""
        told = False
        for number, rod in enumerate(self.rods):
            if rod.valve.name == valve and way != rod.way:
                self.air.tell(number, command_of(rod.valve, way, tick / 1000))
                rod.commanded(tick, way)
                told = True
        if valve in self._nozzles:
            blows = way in ("out", "fed")
            self.air.tell(self._nozzles[valve], Command(tick / 1000, "S" if blows else "X", "X", blows))
            told = True
        return told

    def carry_on(self, tick: int) -> list[tuple[CoupledRod, list[tuple[int, int, bool]], list[Movement]]]:
        """Carry the air on to a tick; for each rod what its sensors come to see, and motions that are over."""
        self.air.advance(tick / 1000)
        return [(rod, *rod.follow()) for rod in self.rods]

    def drawn(self) -> tuple[Drawn, ...]:
        """The free air that each has drawn, in litres at 20 C and 100 kPa."""
        air = self.air
        props = [Drawn(mover.prop.name, std_l_of_kg(mover.booked_kg(air.now_s, air.standing[mover.prop.node])[0]))
                 for mover in air.movers]
        return (*props, *(Drawn(one.nozzle.name, std_l_of_kg(one.supplied_kg)) for one in air.nozzles))

    def series(self) -> Iterator[Series]:
        """Pressure of each manifold and of the tank, and whether the compressor runs."""
        part, moments = self.plan.compressor, self.air.moments
        unit = part.cut_in.unit.symbol
        for name, node in self.plan.manifolds:
            told = self.air.supply.nodes[node]
            limits = () if told.set_pa is None else (("regulator", told.set_pa - P_ATMOSPHERE_PA),)
            points = [(round(one.at_s * 1e6), one.nodes_pa[node] - P_ATMOSPHERE_PA) for one in moments]
            yield Series(name, "pressure", unit, straightened(points), limits)
        points = [(round(one.at_s * 1e6), one.tank_pa - P_ATMOSPHERE_PA) for one in moments]
        limits = (("cuts in", part.cut_in.si), ("cuts out", part.cut_out.si))
        yield Series(part.name, "pressure", unit, straightened(points), limits)
        yield Series(part.name, "runs", "%", tuple(self._runs()), (("on", 1.0),))

    def _runs(self) -> Iterator[Point]:
        """Corners of 1 while the compressor runs and 0 while it does not."""
        on = 0.0
        yield 0, on
        for switch in self.air.tank.switches:
            then = 1.0 if switch.what == "on" else 0.0
            us = round(switch.at_s * 1e6)
            if then != on:
                yield us, on
                yield us, then
            on = then
        yield round(self.air.now_s * 1e6), on


def _crossings(points: list[Point], index: int, out: bool) -> Iterator[tuple[int, int, bool]]:
    """When, as ticks, a rod comes within reach of the sensor at an end, or leaves it."""
    edge = 1.0 - AT_END if out else AT_END
    sees = _sees(points[0][1], out)
    for (begin, start), (end, stop) in pairwise(points):
        then = _sees(stop, out)
        if then != sees:
            ticks = (begin + (edge - start) / (stop - start) * (end - begin)) / 1000
            yield (ceil(ticks - 1e-6) if then else floor(ticks + 1e-6) + 1), index, then
            sees = then


def _sees(where: float, out: bool) -> bool:
    return where >= 1.0 - AT_END - 1e-9 if out else where <= AT_END + 1e-9


def _tick(at_s: float) -> int:
    return ceil(at_s * 1000 - 1e-6)
