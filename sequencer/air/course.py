"""A rod and what its valve does, command by command -> where it goes from each command on.

A course begins at a command and goes on until the rod stands and its air has settled; the next command takes it up
wherever it is by then, with its speed and its pressures. What a whole show makes of it is the dry run's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from sequencer.air.calibrate import calibrate
from sequencer.air.cylinder import CylinderAir
from sequencer.air.from_rig import Toward, ValveWay, command_of, cylinder_air, ways_of
from sequencer.air.gas import GAS_CONSTANT_J_KG_K, T_ANR_K, std_l_of_kg
from sequencer.air.integrate import Begun, Event, make_up_of
from sequencer.air.motion import Trace, move_smoothly
from sequencer.air.request import StrokeRequest, described_by
from sequencer.frozen import frozen
from sequencer.rig.valve import Valve

LONGEST_S, HELD_S = 90.0, 10.0
"""A course is followed no longer than this; one whose ends are shut, so that it never settles, no longer than that."""
STANDS = 1e-9
FINE = 1e-3
"""The corners of the line that is drawn of a course leave out what a straight line misses by less, of the stroke."""
MOVED = 0.01
"""A rod that nothing sends anywhere, and that shifts by less than this of its stroke, has not gone anywhere."""
STARTS = 1e-6, 1e-4, 10.0, 1e-9
"""To what a state is rounded before a course goes on from it: m, m/s, Pa, kg. A prop that does the same again and again
is then reckoned once."""

Point = tuple[int, float]
"""us since the command, and the place as a share of the way from home (0) to out (1)."""


@frozen
class Rod:
    """A cylinder as numbers and the valve it is on."""

    air: CylinderAir
    valve: Valve

    def share(self, x_m: float) -> float:
        low, high = self.air.ends_m
        return min(max((x_m - low) / (high - low), 0.0), 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Where a rod goes after a command. `trace` may begin a little before the command, which is at `told_s` in it.

    Times of what happens are told to 0.1 ms, as those of a `Stroke`.
    """

    rod: Rod
    trace: Trace
    told_s: float
    sent: ValveWay | None

    @property
    def air_std_l(self) -> float:
        """Free air that it draws from the command until all has settled."""
        return self.air_until_std_l(math.inf)

    def air_until_std_l(self, us: float) -> float:
        """The same up to the last step before a moment; from where the course before was left, so that nothing is lost
        or counted twice."""
        until_s = self.told_s + us / 1e6
        drawn = self.trace.supplied_until(until_s)
        over = until_s > self.trace.run.samples[-1][0]
        return std_l_of_kg(drawn + (self.trace.to_come_kg if over else 0.0))

    @property
    def points(self) -> tuple[Point, ...]:
        """The corners of a line that is nowhere further off than `FINE`, from the command to where the rod stands."""
        return points_of(self.rod, self.trace, self.told_s)

    def knots(self, from_us: float, until_us: float) -> Iterator[tuple[float, float, float]]:
        """At each step of the solver between two moments: us, the place as a share, and the speed in shares a
        second."""
        low, high = self.rod.air.ends_m
        for t, x, v, *_ in self.trace.run.samples:
            us = (t - self.told_s) * 1e6
            if us > until_us:
                return
            if us >= from_us:
                yield us, self.rod.share(x), v / (high - low)

    def pressures(self, until_us: float) -> Iterator[tuple[float, float, float]]:
        """At each step of the solver from the command up to a moment: us, and the absolute pressures at the cap end and
        at the rod end; at the command those of the step before it."""
        before = None
        for sample in self.trace.samples():
            us = (sample.t_s - self.told_s) * 1e6
            if us > until_us:
                break
            if us < 0:
                before = sample
                continue
            if before is not None and us > 0:
                yield 0.0, before.cap_pa, before.rod_pa
            before = None
            yield us, sample.cap_pa, sample.rod_pa
        if before is not None:
            yield 0.0, before.cap_pa, before.rod_pa

    @property
    def stops_us(self) -> int | None:
        """When a rod that is under way at the command first stands or turns; None where it stood already."""
        _, v, *_ = self.trace.run.samples[self.trace.step_at(self.told_s)][1:]
        return None if v == 0.0 else next((us for us, event in self._events if event.kind != "go"), None)

    @property
    def leaves_us(self) -> int | None:
        """When the rod sets out the way it is sent, or, where the valve sends it no way, any way; None: never."""
        return next((us for us, event in self._events if event.kind == "go" and event.toward == self._sign), None)

    @property
    def toward(self) -> Toward:
        """The way it goes, and where it stands in the end."""
        return "out" if self._sign > 0 else "home"

    @property
    def ends_us(self) -> int:
        """When it first meets the end that it goes to, though the air of a cushion may throw it back once; else when it
        stands for good."""
        meets = next((us for us, event in self._events if event.kind == "hit" and event.toward == self._sign), None)
        return meets if meets is not None else self._events[-1][0] if self._events else 0

    @property
    def _events(self) -> tuple[tuple[int, Event], ...]:
        return tuple((round((event.at_s - self.told_s) * 1e4) * 100, event) for event in self.trace.events
                     if event.at_s >= self.told_s)

    @property
    def _sign(self) -> int:
        if self.sent in ("out", "home"):
            return 1 if self.sent == "out" else -1
        way = self.trace.final_m - self.trace.x_at(self.told_s)
        return 0 if abs(way) < MOVED * self.rod.air.stroke_m else 1 if way > 0 else -1

    def turned(self, us: int, way: ValveWay) -> Course:
        """The course after another command, `us` after the one it began with."""
        at_s = self.told_s + us / 1e6
        if at_s >= self.trace.run.samples[-1][0]:
            return _onward(self.rod, self._rested(), 0.0, way)
        at, begun = self.trace.begun_at(at_s)
        return _onward(self.rod, _rounded(begun), round(at_s - at, 5), way)

    def _rested(self) -> Begun:
        """When all has settled: every pressure that of what it is connected to."""
        trace = self.trace
        x, _, *gases = trace.run.samples[-1][1:]
        ways = (trace.commands[-1].cap, trace.commands[-1].rod) if trace.commands else trace.ways
        if "X" in ways:
            return _rounded(Begun(x, 0.0, tuple(gases), ways))
        return Begun(round(x, 6), 0.0, _settled(self.rod.air, ways, x), ways)


def course_at_rest(request: StrokeRequest, way: ValveWay) -> Course:
    """A rod that has long stood at the start of a request, with its valve that way. It may set out by itself.

    Raises ValueError as `stroke.predict_stroke` does.
    """
    described = described_by(request)
    air = cylinder_air(described, calibrate(described).unknowns, "out")
    low, high = air.ends_m
    x = low + request.start * (high - low)
    ways = ways_of(described.valve, way)
    return _onward(Rod(air, described.valve), Begun(x, 0.0, _settled(air, ways, x), ways), 0.0, None)


@lru_cache(maxsize=2048)
def _onward(rod: Rod, begun: Begun, told_s: float, way: ValveWay | None) -> Course:
    """What follows a command at `told_s` after a state; None: no command, the valve stays as it is."""
    commands = [] if way is None else [command_of(rod.valve, way, told_s)]
    ways = (commands[-1].cap, commands[-1].rod) if commands else begun.ways
    longest = HELD_S if "X" in ways else LONGEST_S
    return Course(rod, move_smoothly(rod.air, begun, commands, told_s + longest), told_s, way)


def _settled(air: CylinderAir, ways: tuple[str, str], x_m: float) -> tuple[float, ...]:
    """The gases of a cylinder whose ends have long been connected so; a shut end counts as vented."""
    found: list[float] = []
    for letter, line, _ in make_up_of(air).ports():
        port, way, run = (air.cap, ways[0], x_m) if letter == "A" else (air.rod, ways[1], air.stroke_m - x_m)
        pressure = air.supply_pa if way == "S" else air.ambient_pa
        found += [pressure, pressure * (port.dead_m3 + port.area_m2 * run) / (GAS_CONSTANT_J_KG_K * T_ANR_K)]
        found += ([pressure] if line == "node" else []) + ([0.0] if port.quick_pa > 0 else [])
    return tuple(found)


def _rounded(begun: Begun) -> Begun:
    place, speed, pressure, mass = STARTS
    gases = tuple(round(value / (pressure if value > 1.0 else mass)) * (pressure if value > 1.0 else mass)
                  for value in begun.gases)
    pending = tuple(replace(command, at_s=round(command.at_s, 5)) for command in begun.pending)
    v = round(begun.v_m_s / speed) * speed
    return Begun(round(begun.x_m / place) * place, v, gases, begun.ways, pending)


def points_of(rod: Rod, trace: Trace, from_s: float) -> tuple[Point, ...]:
    """The corners of a line through the steps of a motion after a moment, less those that a straight line passes."""
    found: list[Point] = [(0, rod.share(trace.x_at(from_s)))]
    found += [(round((t - from_s) * 1e6), rod.share(x)) for t, x, *_ in trace.run.samples if t > from_s]
    found = _while_moving(found)
    kept, anchor, index = [found[0]], 0, 1
    steepest, flattest = math.inf, -math.inf
    while index < len(found):
        (t0, x0), (t, x) = found[anchor], found[index]
        if t <= t0:
            index += 1
            continue
        slope = (x - x0) / (t - t0)
        if flattest <= slope <= steepest:
            steepest, flattest = min(steepest, slope + FINE / (t - t0)), max(flattest, slope - FINE / (t - t0))
            index += 1
            continue
        anchor = index - 1
        kept.append(found[anchor])
        steepest, flattest = math.inf, -math.inf
    if found[-1][0] > kept[-1][0]:
        kept.append(found[-1])
    return tuple(kept)


def _while_moving(points: list[Point]) -> list[Point]:
    """Without the end of the line at which the rod stands where it will stay."""
    last = len(points) - 1
    while last > 0 and abs(points[last - 1][1] - points[-1][1]) < STANDS:
        last -= 1
    return points[: last + 1]
