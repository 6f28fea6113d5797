"""A rope and how its rod went -> where it goes slack: its piece then falls, or flies, by itself until it is caught.

The motion of the rod counts a slack rope's piece as gone and as there again once the rope would pull; what the piece
does meanwhile is followed here, as free fall, and is not in the travel that a dry run tells. The jerk of the catch
comes back to the rod nowhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.solver import cubic, cubic_slope
from sequencer.frozen import frozen

STEP_S = 1e-3
STRAIGHT_M = 1e-9
LEAST_GAP_M = 10e-3
"""A rope that hangs by less than that is called straight: knots and pulleys give as much (assumed)."""

Sample = tuple[float, float, float]
"""Time in s, place of the rod in m, its speed in m/s."""


@frozen
class Slack:
    """From `at_s` on, for `lasts_s`, the piece is up to `gap_m` above where a straight rope would hold it; then it
    meets the rope, or its stop, at `meets_m_s`."""

    at_s: float
    lasts_s: float
    gap_m: float
    meets_m_s: float


def slack_of(rope: RopeLift, samples: Sequence[Sample]) -> tuple[Slack, ...]:
    """Every time that the rope goes slack, in order. At the last sample the rod has come to stand."""
    found: list[Slack] = []
    begun: float | None = None
    moments = _held(rope, samples)
    before, y, speed = next(moments)
    gap = 0.0
    for t, held, rises in moments:
        dt, before = t - before, t
        free = y + speed * dt - GRAVITY_M_S2 * dt * dt / 2
        if free > held + STRAIGHT_M:
            begun, gap = (t - dt if begun is None else begun), max(gap, free - held)
            y, speed = free, speed - GRAVITY_M_S2 * dt
            continue
        if begun is not None and gap >= LEAST_GAP_M:
            found.append(Slack(begun, t - begun, gap, abs(speed - rises)))
        begun, gap, y, speed = None, 0.0, held, rises
    last = _flight(before, y - rope.lifted_at(samples[-1][1])[0], speed, before if begun is None else begun, gap)
    return tuple(found) if last is None or last.gap_m < LEAST_GAP_M else (*found, last)


def _flight(t: float, above: float, speed: float, begun: float, gap: float) -> Slack | None:
    """What is left of a flight over a rope that stands: it rises by v^2 / 2 g more, and meets the rope at the root of
    v^2 + 2 g h."""
    if above <= STRAIGHT_M and speed <= 0:
        return None
    peak = max(above, 0.0) + max(speed, 0.0) ** 2 / 2 / GRAVITY_M_S2
    meets = (speed**2 + 2 * GRAVITY_M_S2 * max(above, 0.0)) ** 0.5
    return Slack(begun, t + (speed + meets) / GRAVITY_M_S2 - begun, max(gap, peak), meets)


def _held(rope: RopeLift, samples: Sequence[Sample]) -> Iterator[tuple[float, float, float]]:
    """Step by step while the rod moves, the time, the height at which the straight rope holds its piece, and how fast
    that rises."""
    moving = [at for at, (_, _, v) in enumerate(samples) if v != 0]
    if not moving:
        moving = [0]
    first, last = max(moving[0] - 1, 0), min(moving[-1] + 1, len(samples) - 1)
    t = samples[first][0]
    height, slope, _ = rope.lifted_at(samples[first][1])
    yield t, height, slope * samples[first][2]
    for (begin, x, v), (end, xn, vn) in pairwise(samples[first : last + 1]):
        step = end - begin
        through = (x, v * step, xn, vn * step)
        while t + STEP_S <= end and step > 0:
            t += STEP_S
            share = (t - begin) / step
            height, slope, _ = rope.lifted_at(cubic(through, share))
            yield t, height, slope * cubic_slope(through, share) / step
