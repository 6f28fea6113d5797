"""Times taken on a real prop -> the needle settings and the friction with which the model arrives at them.

A needle near closed is what an untimed prop hangs on most, so it is set first, for each way by itself; only where no
setting gives the time, the friction is. Both stay within bounds: a prop that needs more than that is not what was
described, and the fit says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from sequencer.air.from_rig import Described, Toward, Unknowns, stroke_trace

NEEDLES = 0.03, 1.0
"""Settings a needle may be found at. Below, its leak counts more than its setting (assumed)."""
FRICTIONS = 0.3, 4.0
"""Multiples of the friction said or assumed: 1.5 to 20 % of the force at 6 bar covers what sources say."""
CLOSE = 1e-4
"""How close the arrival is brought, as a share of it; a film at 30 pictures a second is a hundred times coarser."""
MOST_TRIES = 30
PATIENCE = 4.0
"""How many times the time measured a try may take; a rod that has not arrived by then counts as never arriving."""


@dataclass(frozen=True, slots=True)
class Fit:
    """What one way was fitted to. `predicted_s` None: it never arrives; `reached`: within `CLOSE` of `measured_s`."""

    toward: Toward
    measured_s: float
    predicted_s: float | None
    unknowns: Unknowns
    reached: bool


def arrival_s(described: Described, unknowns: Unknowns, toward: Toward, until_s: float) -> float:
    """From the command until the rod meets the end of a whole stroke; infinite where it has not by `until_s`."""
    trace = stroke_trace(described, unknowns, toward, until_s)
    found = trace.arrival_s(1.0 if toward == "out" else 0.0, 1 if toward == "out" else -1)
    return math.inf if found is None else found


def fit_way(described: Described, start: Unknowns, toward: Toward, measured_s: float) -> Fit:
    """The needle of one way set to the time, then the friction where that is not enough.

    `described` at the pressure at which the time was taken. Raises ValueError for a time that is not above 0.
    """
    if not 0 < measured_s < math.inf:
        raise ValueError(f"no stroke takes {measured_s} s")

    def late(unknowns: Unknowns) -> float:
        found = arrival_s(described, unknowns, toward, measured_s * PATIENCE)
        return math.log(min(found, measured_s * PATIENCE) / measured_s)

    def needle(setting: float) -> Unknowns:
        return replace(start, needle_out=setting) if toward == "out" else replace(start, needle_back=setting)

    best = needle(_solve(lambda setting: late(needle(setting)), *NEEDLES))
    if abs(late(best)) > CLOSE:
        held = best
        best = replace(held, friction=_solve(lambda share: late(replace(held, friction=share)), *FRICTIONS))
    found = arrival_s(described, best, toward, measured_s * PATIENCE)
    reached = abs(found / measured_s - 1) <= 10 * CLOSE
    return Fit(toward, measured_s, None if math.isinf(found) else found, best, reached)


def _solve(late: Callable[[float], float], low: float, high: float) -> float:
    """Where `late` is 0, else the bound nearest to it: false position with the Illinois rule, halved when it lags."""
    below, above = late(low), late(high)
    if below * above >= 0:
        return low if abs(below) < abs(above) else high
    side = 0
    for tried in range(MOST_TRIES):
        middle = (low + high) / 2 if tried % 3 == 2 else (low * above - high * below) / (above - below)
        value = late(middle)
        if abs(value) < CLOSE / 2:
            return middle
        if value * above > 0:
            high, above = middle, value
            below, side = (below / 2 if side == 1 else below), 1
        else:
            low, below = middle, value
            above, side = (above / 2 if side == -1 else above), -1
    return middle
