"""The pressures that a solver gave step by step -> curves of a timeline, with as few corners as say the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.dryrun.motion import Chambers, RodPlan
from sequencer.dryrun.timeline import Series

CLOSE_PA = 300.0
"""How far off the curve of a chamber may be: a twentieth of a psi."""
ENDS = ("cap end pressure", "rod end pressure")


def chamber_series(plan: RodPlan, rows: Iterable[Chambers], until_us: int) -> Iterator[Series]:
    """The curve of each end that has air of its own; the last value stays up to the end of the run."""
    kept = tuple(rows)
    for end, what in enumerate(ENDS if plan.gauge.both else ENDS[:1], 1):
        points = [(round(row[0]), row[end] - P_ATMOSPHERE_PA) for row in kept]
        if points:
            points = straightened([*points, (until_us, points[-1][1])], CLOSE_PA)
            yield Series(plan.name, what, plan.gauge.unit, points, plan.gauge.limits)


def straightened(points: list[tuple[int, float]], pascal: float = 200.0) -> tuple[tuple[int, float], ...]:
    """Without the points that a straight line between those kept passes within so much."""
    if len(points) < 3:
        return tuple(points)
    kept, low, high = [points[0]], float("-inf"), float("inf")
    for (t, p), (then, after) in pairwise(points[1:]):
        t0, p0 = kept[-1]
        if t > t0:
            low, high = max(low, (p - pascal - p0) / (t - t0)), min(high, (p + pascal - p0) / (t - t0))
        if then > t0 and not low <= (after - p0) / (then - t0) <= high:
            kept.append((t, p))
            low, high = float("-inf"), float("inf")
    return (*kept, points[-1])
