"""The ways that a valve goes -> where a cylinder's rod stands at every moment, as a line of (us, fraction).

Where a rod goes from a command on is asked of the air room; here what it answers is strung together. A rod keeps on as
it was while the air of a new command builds up, then turns from wherever it is. Edges and sensors' inputs are the
session's.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, takewhile
from math import ceil, floor, inf
from typing import Literal, Protocol

from sequencer.air.carrying import Carrying, EndRun, Knot
from sequencer.dryrun.spool import Way

AT_END = 0.01
"""An end-of-travel sensor answers while the rod is this near to its end, as a share of the stroke."""
THERE = 1e-6

Point = tuple[int, float]
Toward = Literal["out", "home"]
Chambers = tuple[float, float, float]
"""us, and the absolute pressures at the cap end and at the rod end."""


class Going(Protocol):
    """Where a rod goes from a command on while no other comes. Times in us since that command.

    `points` are the corners of its line, from 0 on, up to where it stands for good. `stops_us`: when a rod that was
    under way at the command first stands or turns (None: it stood). `leaves_us`: when it sets out the way that it was
    sent, or is carried (None: it does not), `ends_us` when it first meets the end it goes to, else when it stands for
    good. `air_until_std_l`: the free air drawn since the command, in litres at 20 C and 100 kPa. `knots`: place and
    speed at each step of the solver between two moments; `pressures`: those of the chambers, up to a moment.
    """

    @property
    def points(self) -> Sequence[Point]: ...

    @property
    def stops_us(self) -> int | None: ...

    @property
    def leaves_us(self) -> int | None: ...

    @property
    def ends_us(self) -> int: ...

    @property
    def toward(self) -> Toward: ...

    def air_until_std_l(self, us: float) -> float: ...

    def knots(self, from_us: float, until_us: float) -> Iterable[Knot]: ...

    def pressures(self, until_us: float) -> Iterable[Chambers]: ...

    def turned(self, us: int, way: Way) -> Going: ...


@dataclass(frozen=True, slots=True)
class Gauge:
    """The symbol of the author's unit of pressure, what the pressures are to be read against (name, Pa gauge), and
    whether there is air at both ends."""

    unit: str
    limits: tuple[tuple[str, float], ...] = ()
    both: bool = True


@dataclass(frozen=True, slots=True)
class RodPlan:
    """One cylinder as the dry run sees it. `going` is how it stands, or what it does, before the first command; None
    for one on a supply that the show describes (`coupled`).

    `ends` are its end-of-travel sensors: (index of the input, whether it sees the rod out). `weight_brings_home`: a
    spring or its weight brings it home when nothing is under pressure. `carrying` is what people see of it; None where
    nobody asks. `gauge`: how the pressures in its chambers are told.
    """

    name: str
    valve: str
    starts: Toward
    going: Going | None
    ends: tuple[tuple[int, bool], ...] = ()
    weight_brings_home: bool = False
    carrying: Carrying | None = None
    gauge: Gauge = Gauge("bar")


def place_at(points: Sequence[Point], us: float) -> float:
    """Where a line is at a moment; before its first corner and after its last as there. Found from the end, which is
    where it is asked.

    >>> place_at([(0, 0.0), (100, 1.0)], 25), place_at([(0, 0.0), (100, 1.0)], 500)
    (0.25, 1.0)
    """
    index = len(points) - 1
    while index > 0 and points[index][0] > us:
        index -= 1
    begin, start = points[index]
    if us <= begin or index + 1 == len(points):
        return start
    end, stop = points[index + 1]
    return start + (stop - start) * (us - begin) / (end - begin)


@dataclass(frozen=True, slots=True)
class Movement:
    """One motion. Ticks; `reached` is short of the end where another command came first (`cut` then).

    `carries`: how the ends of what the rod carries went, told once the run is over.
    """

    cylinder: str
    toward: Toward
    commanded: int
    leaves: int
    ends: int
    start: float
    reached: float
    cut: bool = False
    carries: tuple[EndRun, ...] = ()


class Rod:
    """The rod of one cylinder while the dry run goes on. Times in us since tick 0."""

    def __init__(self, plan: RodPlan) -> None:
        assert plan.going is not None
        self.plan = plan
        self.points: list[Point] = [*plan.going.points]
        self.movements: list[Movement] = []
        self.way: Way = plan.starts
        self._going: Going = plan.going
        self._told_us = 0
        self._courses: list[tuple[int, Going]] = [(0, plan.going)]
        self._air_std_l = 0.0

    def position(self, us: float) -> float:
        """Where the rod stands, 0 home to 1 out."""
        return place_at(self.points, us)

    def at_end(self, us: float, out: bool) -> bool:
        """Whether a sensor at that end sees the rod."""
        where = self.position(us)
        return where >= 1.0 - AT_END - 1e-9 if out else where <= AT_END + 1e-9

    def command(self, tick: int, way: Way) -> Movement | None:
        """The valve goes that way at this tick. Gives the movement that another was cut short by, if
        any was."""
        if way == self.way:
            return None
        now = tick * 1000
        self._air_std_l = self.air_until_std_l(now)
        self._going = self._going.turned(now - self._told_us, way)
        self._told_us, self.way = now, way
        self._courses.append((now, self._going))
        self._stop_at(now)
        self.points += [(now + us, where) for us, where in self._going.points if now + us > self.points[-1][0]]
        short = self._ended(now)
        leaves = self._going.leaves_us
        if leaves is not None:
            ends = now + self._going.ends_us
            start = self.position(now + leaves)
            self.movements.append(Movement(self.plan.name, self._going.toward, tick, _tick(now + leaves), _tick(ends),
                                           start, self.points[-1][1]))
        return short

    def moves_after(self, us: int) -> bool:
        """Whether it is still to move."""
        return self.points[-1][0] > us

    def movements_until(self, tick: int) -> tuple[Movement, ...]:
        """All motions that were begun; the last one as far as it will go."""
        return tuple(self.movements)

    def air_until_std_l(self, us: float) -> float:
        """The free air drawn so far, in litres at 20 C and 100 kPa."""
        return self._air_std_l + self._going.air_until_std_l(us - self._told_us)

    def knots(self, begin_us: int, end_us: int) -> list[Knot]:
        """Place and speed at each step of the solver between two moments."""
        found: list[Knot] = []
        untils = [*(told for told, _ in self._courses[1:]), inf]
        first = bisect_right(self._courses, begin_us, key=lambda one: one[0]) - 1
        for (told, going), until in zip(self._courses[first:], untils[first:], strict=True):
            if told > end_us:
                break
            found += [(told + us, share, speed) for us, share, speed in
                      going.knots(begin_us - told, min(end_us, until) - told)]
        return found

    def pressures(self, until_us: int) -> list[Chambers]:
        """The pressures in its chambers at each step of the solver up to a moment."""
        untils = [*(told for told, _ in self._courses[1:]), until_us]
        return [(told + us, cap, rod) for (told, going), until in zip(self._courses, untils, strict=True)
                for us, cap, rod in going.pressures(min(until, until_us) - told)]

    def changes_after(self, tick: int) -> list[tuple[int, int, bool]]:
        """What the end-of-travel sensors are to see after this tick: (tick, input, sees the rod), in
        order."""
        found = []
        for index, out in self.plan.ends:
            found += [(max(at, tick + 1), index, sees) for at, sees in self._crossings(tick * 1000, out)]
        # By tick alone: where a sensor sees and loses the rod within one tick, the later of the two must stay last.
        return sorted(found, key=lambda change: change[0])

    def _stop_at(self, us: int) -> None:
        """Keeps the line up to that moment; from then on the rod stands."""
        where = self.position(us)
        while len(self.points) > 1 and self.points[-1][0] >= us:
            self.points.pop()
        if us > self.points[-1][0]:
            self.points.append((us, where))

    def _ended(self, now: int) -> Movement | None:
        """What came of the movement that was under way at a new command; given where it did not get to its end."""
        if not self.movements or self.movements[-1].ends <= _tick(now):
            return None
        last, stops = self.movements[-1], self._going.stops_us
        if stops is None:
            # It had not set out yet.
            del self.movements[-1]
            return None
        reached = self.position(now + stops)
        there = abs(reached - (1.0 if last.toward == "out" else 0.0)) < THERE
        short = replace(last, ends=_tick(now + stops), reached=reached, cut=not there)
        self.movements[-1] = short
        return None if there else short

    def _crossings(self, after_us: int, out: bool) -> list[tuple[int, bool]]:
        """When, as ticks, the rod comes within reach of the sensor at an end, or leaves it."""
        edge = 1.0 - AT_END if out else AT_END
        found = []
        sees = self.at_end(after_us, out)
        ahead = [*takewhile(lambda point: point[0] > after_us, reversed(self.points))]
        tail = [(after_us, self.position(after_us)), *reversed(ahead)]
        for (begin, start), (end, stop) in pairwise(tail):
            then = self.at_end(end, out)
            if then != sees:
                share = (edge - start) / (stop - start)
                ticks = (begin + share * (end - begin)) / 1000
                found.append((ceil(ticks - 1e-6) if then else floor(ticks + 1e-6) + 1, then))
                sees = then
        return found


def _tick(us: int) -> int:
    return ceil(us / 1000)
