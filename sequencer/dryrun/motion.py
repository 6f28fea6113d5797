"""The ways that a valve goes -> where a cylinder's rod stands at every moment, as a line of (us, fraction).

A stroke is asked of the air room (`Stroke`); here strokes are strung together. A rod keeps on as it was while
the air of a new command builds up (the stroke's lead), then turns from where it is. A command that is taken
back before the valve has answered moves nothing. Edges and sensors' inputs are the session's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise, takewhile
from math import ceil, floor
from typing import Literal, Protocol

from sequencer.dryrun.spool import Way

AT_END = 0.01
"""An end-of-travel sensor answers while the rod is this near to its end, as a share of the stroke."""

_WAYPOINTS = (0.0, AT_END, 0.25, 0.5, 0.75, 1.0 - AT_END, 1.0)
_STRAIGHT_US = 1000

Point = tuple[int, float]
Toward = Literal["out", "home"]


class StrokeLike(Protocol):
    """What is asked of a stroke: times in us since the command, air in litres at 20 C and 100 kPa."""

    lead_us: int
    free_air_std_l: float

    def arrival_us(self, fraction: float) -> int: ...


@dataclass(frozen=True, slots=True)
class RodPlan:
    """One cylinder as the dry run sees it: fixed facts and the way to ask for a stroke.

    `ends` are its end-of-travel sensors: (index of the input, whether it sees the rod out). `answers_us` is
    how long the valve takes to answer a command.
    """

    name: str
    valve: str
    starts: float
    answers_us: int
    stroke: Callable[[float, Toward], StrokeLike]
    ends: tuple[tuple[int, bool], ...] = ()
    comes_home_alone: bool = False


@dataclass(frozen=True, slots=True)
class Movement:
    """One motion. Ticks; `reached` is short of the end where another command came first (`cut` then)."""

    cylinder: str
    toward: Toward
    commanded: int
    leaves: int
    ends: int
    start: float
    reached: float
    cut: bool = False


class Rod:
    """The rod of one cylinder while the dry run goes on. Times in us since tick 0."""

    def __init__(self, plan: RodPlan) -> None:
        self.plan = plan
        self.points: list[Point] = [(0, plan.starts)]
        self.movements: list[Movement] = []
        self.air_std_l = 0.0
        self.way: Way = "out" if plan.starts >= 1.0 else "home"
        self._undo: _Undo | None = None

    def position(self, us: float) -> float:
        """Where the rod stands, 0 home to 1 out."""
        points = self.points
        index = len(points) - 1
        while index > 0 and points[index][0] > us:
            index -= 1
        begin, start = points[index]
        if us <= begin or index + 1 == len(points):
            return start
        end, stop = points[index + 1]
        return start + (stop - start) * (us - begin) / (end - begin)

    def at_end(self, us: float, out: bool) -> bool:
        """Whether a sensor at that end sees the rod."""
        where = self.position(us)
        return where >= 1.0 - AT_END - 1e-9 if out else where <= AT_END + 1e-9

    def command(self, tick: int, way: Way) -> Movement | None:
        """The valve goes that way at this tick. Gives the movement that another was cut short by, if
        any was."""
        if way == self.way:
            return None
        undo = self._undo
        if undo is not None and tick * 1000 - undo.us < self.plan.answers_us:
            self._take_back(undo)
            if way == self.way:
                return None
        before = self._keep(tick)
        self.way = way
        turned = self._go(tick, way)
        return self._cut_short(before, turned)

    def changes_after(self, tick: int) -> list[tuple[int, int, bool]]:
        """What the end-of-travel sensors are to see after this tick: (tick, input, sees the rod), in
        order."""
        found = []
        for index, out in self.plan.ends:
            found += [(max(at, tick + 1), index, sees) for at, sees in self._crossings(tick * 1000, out)]
        # By tick alone: where a sensor sees and loses the rod within one tick, the later of the two must stay last.
        return sorted(found, key=lambda change: change[0])

    def _go(self, tick: int, way: Way) -> int:
        """Draws the line of the new motion; gives the moment (us) from which the old one no longer holds."""
        now = tick * 1000
        toward = self._toward(way)
        if toward is None:
            turn = now + self.plan.answers_us
            self._stop_at(turn)
            return turn
        first = self.plan.stroke(self.position(now), toward)
        turn = now + max(first.lead_us, 1000)
        stand = self.position(turn)
        end = 1.0 if toward == "out" else 0.0
        self._stop_at(turn)
        if abs(stand - end) < 1e-9:
            return turn
        stroke = first if stand == self.position(now) else self.plan.stroke(stand, toward)
        self.air_std_l += stroke.free_air_std_l
        self.points += _line(stroke, turn, stand, end)
        arrives = self.points[-1][0]
        self.movements.append(Movement(self.plan.name, toward, tick, _tick(turn), _tick(arrives), stand, end))
        return turn

    def _toward(self, way: Way) -> Toward | None:
        if way == "out":
            return "out"
        return "home" if way == "home" or (way == "vented" and self.plan.comes_home_alone) else None

    def _stop_at(self, us: int) -> None:
        """Keeps the line up to that moment; from then on the rod stands."""
        where = self.position(us)
        while len(self.points) > 1 and self.points[-1][0] >= us:
            self.points.pop()
        if us > self.points[-1][0]:
            self.points.append((us, where))

    def _cut_short(self, before: int, turn: int) -> Movement | None:
        """The movement that was under way when another command came, shortened to what came of it."""
        if before == 0:
            return None
        last = self.movements[before - 1]
        if last.ends <= _tick(turn) or last.cut:
            return None
        if last.leaves >= _tick(turn):
            del self.movements[before - 1]
            return None
        short = replace(last, ends=_tick(turn), reached=self.position(turn), cut=True)
        self.movements[before - 1] = short
        return short

    def _keep(self, tick: int) -> int:
        self._undo = _Undo(
            tick * 1000,
            self.way,
            tuple(self.points[-12:]),
            len(self.points),
            tuple(self.movements[-2:]),
            len(self.movements),
            self.air_std_l,
        )
        return len(self.movements)

    def _take_back(self, undo: _Undo) -> None:
        """As if the last command had not been: the valve had not answered it yet."""
        self.points[max(undo.point_count - len(undo.points), 0) :] = undo.points
        self.movements[max(undo.movement_count - len(undo.movements), 0) :] = undo.movements
        self.way, self.air_std_l, self._undo = undo.way, undo.air_std_l, None

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


@dataclass(frozen=True, slots=True)
class _Undo:
    us: int
    way: Way
    points: tuple[Point, ...]
    point_count: int
    movements: tuple[Movement, ...]
    movement_count: int
    air_std_l: float


def _line(stroke: StrokeLike, turn: int, stand: float, end: float) -> list[Point]:
    """The points of one stroke after `turn`, without those that a straight line goes through anyway."""
    span = end - stand
    on_way = [one if end == 1.0 else 1.0 - one for one in _WAYPOINTS]
    goals = [goal for goal in on_way if (goal - stand) * span > 1e-9]
    points: list[Point] = [(turn, stand)]
    for goal in goals:
        us = max(turn + max(stroke.arrival_us(goal) - stroke.lead_us, 1), points[-1][0] + 1)
        points.append((us, goal))
    return _straightened(points)[1:]


def _straightened(points: list[Point]) -> list[Point]:
    (begin, start), (end, stop) = points[0], points[-1]
    off = [abs(us - (begin + (end - begin) * (where - start) / (stop - start))) for us, where in points]
    return points if max(off) >= _STRAIGHT_US else [points[0], points[-1]]


def _tick(us: int) -> int:
    return ceil(us / 1000)
