"""Times taken on a real prop -> the needle settings and the friction with which the model arrives at them.

A needle near closed is what an untimed prop hangs on most, so it is set first, for each way by itself; only where no
setting gives the time, the friction is. Both stay within bounds: a prop that needs more than that is not what was
described, and the fit says so.

An arrival grows about evenly with the resistance of the needle, the inverse of what it passes, and with the friction,
so secants find it: some three motions, loosely reckoned, and two at the tolerance of every other motion.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns, cylinder_air, move_whole
from sequencer.air.integrate import TOLERANCE
from sequencer.air.needle import setting_that_passes, share_of_open
from sequencer.frozen import frozen

NEEDLES = 0.03, NO_NEEDLE
"""Settings a needle may be found at. Below, its leak counts more than its setting (assumed); above 1 it passes more
than is assumed of an open one (see `Unknowns`)."""
FRICTIONS = 0.3, 4.0
"""Multiples of the friction said or assumed: 1.5 to 20 % of the force at 6 bar covers what sources say."""
CLOSE = 5e-5
"""How close the arrival is brought, as a share of it; a film at 30 pictures a second is a thousand times coarser."""
LOOSE = 2e-3
"""Tolerance of the motions by which the search comes near; the last ones are reckoned as any other motion."""
NEAR = 2e-3
OTHERS = 1.0
"""About what everything else on the way of the air resists, beside an open needle."""
MOST_TRIES = 40
PATIENCE = 4.0
"""How many times the time measured a try may take; a rod that has not arrived by then counts as never arriving."""


@frozen
class Fit:
    """What one way was fitted to. `predicted_s` None: it never arrives; `reached`: within 10 `CLOSE` of `measured_s`.

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
    """The needle of one way set to the time, then the friction where that is not enough.

    `described` at the pressure at which the time was taken. Raises ValueError for a time that is not above 0.
    """
    if not 0 < measured_s < math.inf:
        raise ValueError(f"no stroke takes {measured_s} s")
    tries = 0

    def late(unknowns: Unknowns, tolerance: float) -> float:
        nonlocal tries
        tries += 1
        return min(arrival_s(described, unknowns, toward, measured_s * PATIENCE, tolerance) / measured_s, PATIENCE) - 1

    def needle(resistance: float) -> Unknowns:
        setting = setting_that_passes(1 / resistance)
        return replace(start, needle_out=setting) if toward == "out" else replace(start, needle_back=setting)

    said = start.needle_out if toward == "out" else start.needle_back
    most, least, first = (1 / share_of_open(setting) for setting in (*NEEDLES, min(max(said, NEEDLES[0]), NEEDLES[1])))
    at, off = _solve(lambda resistance, loose: late(needle(resistance), loose), (least, first, most), OTHERS)
    best = needle(at)
    if abs(off) > CLOSE:
        held = best
        shares = FRICTIONS[0], min(max(start.friction, FRICTIONS[0]), FRICTIONS[1]), FRICTIONS[1]
        at, off = _solve(lambda share, loose: late(replace(held, friction=share), loose), shares, 3.0)
        best = replace(held, friction=at)
    never = off >= PATIENCE - 1
    return Fit(toward, measured_s, None if never else measured_s * (1 + off), best, abs(off) <= 10 * CLOSE, tries)


def _solve(late: Callable[[float, float], float], range_: tuple[float, float, float],
           offset: float) -> tuple[float, float]:
    """Where `late`, which grows, is 0, and how late it is there: else the bound nearest to it.

    `range_` is the least, the first and the most to try; 1 + late is about in proportion to the argument + `offset`.
    Secants, halving the bracket where one leads out of it.
    """
    least, at, most = range_
    low, high, tolerance = least, most, LOOSE
    last: tuple[float, float] | None = None
    off = late(at, tolerance)
    for _ in range(MOST_TRIES):
        bound = (at == least and off > 0) or (at == most and off < 0)
        if tolerance == LOOSE and (abs(off) < NEAR or bound):
            # From here on every motion counts, and what the loose ones said of the bracket does not.
            tolerance, low, high = TOLERANCE, least, most
            slope = (off - last[1]) / (at - last[0]) if last is not None else 0.0
            then = late(at, tolerance)
            last = (at - off / slope, then - off) if slope > 0 else None
            off = then
            bound = (at == least and off > 0) or (at == most and off < 0)
        if abs(off) <= CLOSE / 2 or bound or high - low < 1e-12:
            return at, off
        low, high = (low, at) if off > 0 else (at, high)
        slope = (off - last[1]) / (at - last[0]) if last is not None and last[0] != at else 0.0
        slope = slope if slope > 0 else (1 + off) / (at + offset)
        last, then_at = (at, off), at - off / slope
        if not low < then_at < high:
            beyond = least if off > 0 else most
            then_at = beyond if beyond in (low, high) and beyond != at else (low + high) / 2
        at = then_at
        off = late(at, tolerance)
    return at, off
