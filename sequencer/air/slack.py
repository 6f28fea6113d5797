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

STEP_S = 5e-4
STRAIGHT_M = 1e-9
LEAST_GAP_M = 10e-3
"""A rope that hangs by less than that is called straight: knots and pulleys give as much (assumed)."""
AFTER_S = 3.0
"""How long a piece is followed once the rod stands; it falls 44 m in that time."""

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
    """Every time that the rope goes slack, in order."""
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
    return tuple(found)


def _held(rope: RopeLift, samples: Sequence[Sample]) -> Iterator[tuple[float, float, float]]:
    """Step by step, the time, the height at which the straight rope holds its piece, and how fast that rises; at last
    with the rod standing."""
    t = samples[0][0]
    height, slope, _ = rope.lifted_at(samples[0][1])
    yield t, height, slope * samples[0][2]
    for (begin, x, v), (end, xn, vn) in pairwise(samples):
        step = end - begin
        through = (x, v * step, xn, vn * step)
        while t + STEP_S <= end and step > 0:
            t += STEP_S
            share = (t - begin) / step
            height, slope, _ = rope.lifted_at(cubic(through, share))
            yield t, height, slope * cubic_slope(through, share) / step
    height, _, _ = rope.lifted_at(samples[-1][1])
    for number in range(1, round(AFTER_S / STEP_S) + 1):
        yield t + number * STEP_S, height, 0.0
