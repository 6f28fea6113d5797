"""Times taken on a real prop -> the needle settings and the friction with which the model arrives at them.

A needle near closed is what an untimed prop hangs on most, so it is set first, for each way by itself; only where no
setting gives the time, the friction is. Both stay within bounds: a prop that needs more than that is not what was
described, and the fit says so.

An arrival grows about evenly with the resistance of the needle, the inverse of what it passes, and with the friction,
so secants find it: some three motions a way, loosely reckoned. Each way hangs a little on the needle of the other,
through which air comes in, and both on one friction; so at the tolerance of every other motion both ways are then
brought there together, a step each in turn, which takes some two motions more of either.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns, cylinder_air, move_whole
from sequencer.air.integrate import TOLERANCE
from sequencer.air.needle import setting_that_passes, share_of_open
from sequencer.frozen import frozen

NEEDLES = 0.03, NO_NEEDLE
"""Settings a needle may be found at. Below, its leak counts more than its setting (assumed); above 1 it passes more
than is assumed of an open one (see `Unknowns`)."""
FRICTIONS = 0.3, 4.0
"""Multiples of the friction said or assumed: 1.5 to 20 % of the force at 6 bar covers what sources say."""
CLOSE = 1e-4
"""How close the arrival is brought, as a share of it; a film at 30 pictures a second is hundreds of times coarser."""
REACHED = 5e-4
"""So close, the time counts as met."""
LOOSE = 2e-3
"""Tolerance of the motions by which the search comes near; the last ones are reckoned as any other motion."""
NEAR = 2e-3
OTHERS, SEALS = 1.0, 3.0
"""About what everything else on the way of the air resists, beside an open needle; and what makes a rod late beside
its friction, in multiples of that."""
FAR = 1e-3
"""A step of one way that is smaller than this leaves the other within `CLOSE`."""
MOST_TRIES, MOST_TURNS = 40, 3
"""Motions of one search; turns in which each way takes one step, before each is searched out by itself."""
PATIENCE = 4.0
"""How many times the time measured a try may take; a rod that has not arrived by then counts as never arriving."""


@frozen
class Fit:
    """What one way was fitted to. `predicted_s` None: it never arrives; `reached`: within `REACHED` of `measured_s`.

    `tries` counts the motions it took.
    """

    toward: Toward
    measured_s: float
    predicted_s: float | None
    unknowns: Unknowns
    reached: bool
    tries: int = 0


def arrival_s(described: Described, unknowns: Unknowns, toward: Toward, until_s: float,
              tolerance: float = TOLERANCE) -> float:
    """From the command until the rod meets the end of a whole stroke; infinite where it has not by `until_s`."""
    cylinder = cylinder_air(described, unknowns, toward)
    trace = move_whole(cylinder, described.valve, toward, until_s, toward, tolerance)
    found = trace.arrival_s(1.0 if toward == "out" else 0.0, 1 if toward == "out" else -1)
    return math.inf if found is None else found


def fit_way(described: Described, start: Unknowns, toward: Toward, measured_s: float) -> Fit:
    """One way alone, see `fit_ways`."""
    return fit_ways(described, start, [(toward, measured_s)])[1][0]


def fit_ways(described: Described, start: Unknowns,
             timed: Sequence[tuple[Toward, float]]) -> tuple[Unknowns, tuple[Fit, ...]]:
    """The needle of each way set to its time, then the friction where that is not enough.

    `described` at the pressure at which the times were taken. Raises ValueError for a time that is not above 0.
    """
    for _, measured_s in timed:
        if not 0 < measured_s < math.inf:
            raise ValueError(f"no stroke takes {measured_s} s")
    unknowns, searches = start, [_Search(described, toward, measured_s) for toward, measured_s in timed]
    for search in searches:
        unknowns = search.come_near(unknowns)
    for turn in range(2 * MOST_TURNS):
        for search in (one for one in searches if not one.there):
            before, unknowns = unknowns, search.step(unknowns, alone=turn >= MOST_TURNS)
            if unknowns != before and abs(search.off) > FAR:
                for other in searches:
                    other.there = other.there and other is search
    return unknowns, tuple(search.fit(unknowns) for search in searches)


@dataclass(slots=True)
class _Search:
    """One way under way to its time. `slope`: how much later, as a share, for a little more of what is turned at.

    `off`: how late it was when last reckoned at the tolerance that counts; `there`: nothing is left to do for it.
    """

    described: Described
    toward: Toward
    measured_s: float
    turned: Literal["needle", "friction"] = "needle"
    slope: float = 0.0
    last: tuple[float, float] | None = None
    off: float = math.inf
    there: bool = False
    tries: int = 0

    def come_near(self, unknowns: Unknowns) -> Unknowns:
        """Close enough for steps, loosely reckoned."""
        return self._search_out(unknowns, LOOSE, NEAR)

    def step(self, unknowns: Unknowns, alone: bool) -> Unknowns:
        """One step, or all there are, as where the ways disturb one another."""
        if alone:
            unknowns = self._search_out(unknowns, TOLERANCE, CLOSE)
            self.there = True
            return unknowns
        self.off = self._late(unknowns, TOLERANCE)
        at, (least, most) = self._at(unknowns), self._bounds()
        self.there = abs(self.off) <= CLOSE
        if not self.there and ((at <= least and self.off > 0) or (at >= most and self.off < 0)):
            if self.turned == "friction":
                self.there = True
            else:
                self.turned, self.slope, self.last = "friction", 0.0, None
                at, (least, most) = self._at(unknowns), self._bounds()
        if self.there:
            return unknowns
        if self.last is not None and self.last[0] != at:
            slope = (self.off - self.last[1]) / (at - self.last[0])
            self.slope = slope if 0.5 < slope / self.slope < 2 else self.slope
        slope = self.slope if self.slope > 0 else (1 + self.off) / (at + self._offset)
        self.slope, self.last = slope, (at, self.off)
        return self._turned_to(unknowns, min(max(at - self.off / slope, least), most))

    def fit(self, unknowns: Unknowns) -> Fit:
        never = self.off >= PATIENCE - 1
        predicted = None if never else self.measured_s * (1 + self.off)
        return Fit(self.toward, self.measured_s, predicted, unknowns, abs(self.off) <= REACHED, self.tries)

    def _search_out(self, unknowns: Unknowns, tolerance: float, close: float) -> Unknowns:
        unknowns = self._turn(unknowns, tolerance, close)
        if abs(self.off) <= close or self.turned == "friction":
            return unknowns
        self.turned = "friction"
        return self._turn(unknowns, tolerance, close)

    def _turn(self, unknowns: Unknowns, tolerance: float, close: float) -> Unknowns:
        least, most = self._bounds()
        range_ = least, min(max(self._at(unknowns), least), most), most
        at, self.off, self.slope = _solve(lambda at: self._late(self._turned_to(unknowns, at), tolerance), range_,
                                          self._offset, close)
        self.last = None
        return self._turned_to(unknowns, at)

    def _late(self, unknowns: Unknowns, tolerance: float) -> float:
        self.tries += 1
        found = arrival_s(self.described, unknowns, self.toward, self.measured_s * PATIENCE, tolerance)
        return min(found / self.measured_s, PATIENCE) - 1

    @property
    def _offset(self) -> float:
        """1 + late is about in proportion to what is turned at + this."""
        return OTHERS if self.turned == "needle" else SEALS

    def _bounds(self) -> tuple[float, float]:
        return (1 / share_of_open(NEEDLES[1]), 1 / share_of_open(NEEDLES[0])) if self.turned == "needle" else FRICTIONS

    def _at(self, unknowns: Unknowns) -> float:
        if self.turned == "friction":
            return unknowns.friction
        return 1 / share_of_open(unknowns.needle_out if self.toward == "out" else unknowns.needle_back)

    def _turned_to(self, unknowns: Unknowns, at: float) -> Unknowns:
        if self.turned == "friction":
            return replace(unknowns, friction=at)
        setting = setting_that_passes(1 / at)
        return replace(unknowns, needle_out=setting) if self.toward == "out" else replace(unknowns, needle_back=setting)


def _solve(late: Callable[[float], float], range_: tuple[float, float, float], offset: float,
           close: float) -> tuple[float, float, float]:
    """Where `late`, which grows, is within `close` of 0, how late it is there, and its slope: else the bound nearest
    to it.

    `range_` is the least, the first and the most to try; 1 + late is about in proportion to the argument + `offset`.
    Secants, halving the bracket where one leads out of it.
    """
    least, at, most = range_
    low, high = least, most
    slope, off = 0.0, late(at)
    for _ in range(MOST_TRIES):
        bound = (at == least and off > 0) or (at == most and off < 0)
        if abs(off) <= close or bound or high - low < 1e-12:
            break
        low, high = (low, at) if off > 0 else (at, high)
        by = slope if slope > 0 else (1 + off) / (at + offset)
        then_at = at - off / by
        if not low < then_at < high:
            beyond = least if off > 0 else most
            then_at = beyond if beyond in (low, high) and beyond != at else (low + high) / 2
        then = late(then_at)
        slope = (then - off) / (then_at - at)
        at, off = then_at, then
    return at, off, max(slope, 0.0)
