"""A four-bar linkage swung by its crank -> effective mass, load and the way of the rocker's end.

The ground bar lies level from the crank's pivot, at the origin, to the rocker's, at its right. Crank and coupler end to
end reach where ground and rocker end to end reach (the loop):

    c e^(i theta) + p e^(i alpha) = g + r e^(i psi)

with theta, alpha, psi the angles of crank, coupler and rocker. Its first and second derivatives give psi' and psi''
(Norton, Design of Machinery, chapters on velocity and acceleration of the fourbar; from memory, derived here again).
The bars have no mass of their own: the rig says none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import field, replace

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.linkage import NEAR_DEAD_RAD, End, Terms
from sequencer.air.mechanism.swing import Swing
from sequencer.frozen import frozen


@frozen
class Bars:
    """Lengths in metres. `side` +1: the joint of coupler and rocker lies left of the way from the crank's end to the
    rocker's pivot, which with the crank above ground is the uncrossed way to put the bars together; -1: right of it.
    """

    ground_m: float
    crank_m: float
    coupler_m: float
    rocker_m: float
    side: float = 1.0

    def gap_m(self, crank_rad: float) -> float:
        """From the crank's end to the rocker's pivot: what coupler and rocker have to span. Law of cosines."""
        g, c = self.ground_m, self.crank_m
        return math.sqrt(max(g * g + c * c - 2 * g * c * math.cos(crank_rad), 0.0))

    def rocker_rad(self, crank_rad: float) -> float:
        """The rocker's angle psi, without a jump however far crank and rocker turn.

        From the rocker's pivot the crank's end is seen at the angle of c e^(i theta) - g, which is that of the longer
        of the two, turned by less than a right angle; the rocker stands beside it by the triangle's angle there.

        >>> bars = Bars(0.2, 0.5, 0.5, 0.5)  # the shortest on the ground: both others go round and round
        >>> round(bars.rocker_rad(1.0 + 4 * math.pi) - bars.rocker_rad(1.0), 9) == round(4 * math.pi, 9)
        True
        """
        g, c, p, r = self.ground_m, self.crank_m, self.coupler_m, self.rocker_m
        cos_t, sin_t, gap = math.cos(crank_rad), math.sin(crank_rad), self.gap_m(crank_rad)
        if c > g:
            seen = crank_rad + math.atan2(g * sin_t, c - g * cos_t)
        else:
            seen = math.pi - math.atan2(c * sin_t, g - c * cos_t)
        return seen - self.side * math.acos(min(max((r * r + gap * gap - p * p) / (2 * r * gap), -1.0), 1.0))

    def rocker_at(self, crank_rad: float) -> tuple[float, float, float, float]:
        """Cosine and sine of the rocker's angle psi, d psi / d theta, and the slope of that, all by the crank's angle.

        >>> bars = Bars(0.5, 0.2, 0.5, 0.2)  # a parallelogram: the rocker goes as the crank goes
        >>> [round(value, 9) + 0 for value in bars.rocker_at(math.radians(60))]
        [0.5, 0.866025404, 1.0, 0.0]
        """
        c, p, r = self.crank_m, self.coupler_m, self.rocker_m
        cos_t, sin_t = math.cos(crank_rad), math.sin(crank_rad)
        right, up = self.ground_m - c * cos_t, -c * sin_t
        gap2 = right * right + up * up
        along = (p * p - r * r + gap2) / (2 * gap2)
        across = self.side * math.sqrt(max(p * p / gap2 - along * along, 0.0))
        cos_a, sin_a = (along * right - across * up) / p, (along * up + across * right) / p
        cos_p, sin_p = (cos_a * p - right) / r, (sin_a * p - up) / r
        spread = sin_p * cos_a - cos_p * sin_a
        coupler = c * (sin_t * cos_p - cos_t * sin_p) / (p * spread)
        rocker = c * (sin_t * cos_a - cos_t * sin_a) / (r * spread)
        bend = (c * (cos_t * cos_a + sin_t * sin_a) + p * coupler * coupler
                - r * rocker * rocker * (cos_p * cos_a + sin_p * sin_a)) / (r * spread)
        return cos_p, sin_p, rocker, bend


@frozen
class SwungBars:
    """A four-bar whose crank a cylinder swings and whose rocker's end carries a load, taken as a point.

    Good for use where `does_not_close_at` finds nothing and the swing has no dead centre.
    """

    swing: Swing
    bars: Bars
    load_kg: float
    share: float = 0.0
    rubs_n: float = 0.0
    _toward: float = field(init=False)

    def __post_init__(self) -> None:
        goes = self.bars.rocker_rad(self.swing.end_rad) - self.bars.rocker_rad(self.swing.start_rad)
        object.__setattr__(self, "_toward", math.copysign(1.0, goes))

    @property
    def out_m(self) -> float:
        return self.swing.out_m

    def terms(self, x_m: float) -> Terms:
        """With psi by x through theta: m = M r^2 psi'^2, m'/2 = M r^2 psi' psi'', load = M g r cos(psi) psi'.

        >>> swing = Swing(0.1, 0.4, math.radians(-60), math.radians(30), math.radians(80))
        >>> [round(value, 3) for value in SwungBars(swing, Bars(0.5, 0.2, 0.5, 0.2), 3.0).terms(0.0)]
        [12.75, 30.923, 52.525]
        """
        theta, slope, bend = self.swing.turn_at(x_m)
        cos_p, _, rocker, rocker_bend = self.bars.rocker_at(theta)
        r = self.bars.rocker_m
        psi_slope = rocker * slope
        by_slope = self.load_kg * r * psi_slope
        mass = by_slope * r * psi_slope
        half = by_slope * r * (rocker_bend * slope * slope + rocker * bend)
        return mass, half, GRAVITY_M_S2 * by_slope * cos_p

    def end_at(self, x_m: float) -> End:
        theta, slope, bend = self.swing.turn_at(x_m)
        cos_p, sin_p, rocker, rocker_bend = self.bars.rocker_at(theta)
        r, toward = self.bars.rocker_m, self._toward * self.bars.rocker_m
        travel = toward * (self.bars.rocker_rad(theta) - self.bars.rocker_rad(self.swing.start_rad))
        second = toward * (rocker_bend * slope * slope + rocker * bend)
        return End(r * cos_p, r * sin_p, math.atan2(sin_p, cos_p), travel, toward * rocker * slope, second)

    def with_rod_at(self, rod_at_m: float) -> SwungBars:
        """The same bars and swing with the rod pinned elsewhere on the crank."""
        return replace(self, swing=replace(self.swing, rod_at_m=rod_at_m))


def uncrossed_side(start_rad: float, end_rad: float) -> float:
    """The side on which the bars do not cross with the crank at half its swing.

    >>> uncrossed_side(-0.2, 1.0), uncrossed_side(-1.0, -0.2)
    (1.0, -1.0)
    """
    return 1.0 if math.sin((start_rad + end_rad) / 2) >= 0 else -1.0


def does_not_close_at(bars: Bars, start_rad: float, end_rad: float) -> float | None:
    """The crank's angle within its swing at which coupler and rocker cannot span the gap, or stand in one line.

    In one line the rocker may go either way, so half a degree off it is the least. None where all is well.

    >>> does_not_close_at(Bars(0.5, 0.2, 0.3, 0.2), math.radians(30), math.radians(100))
    1.7453292519943295
    """
    sum_squares = bars.coupler_m**2 + bars.rocker_m**2
    most = math.cos(NEAR_DEAD_RAD)
    for angle in _widest_and_narrowest(start_rad, end_rad):
        cosine = (sum_squares - bars.gap_m(angle) ** 2) / (2 * bars.coupler_m * bars.rocker_m)
        if abs(cosine) > most:
            return angle
    return None


def _widest_and_narrowest(start_rad: float, end_rad: float) -> Iterator[float]:
    """Where the gap can be at its ends: both ends of the swing, and the crank along the ground bar in between."""
    yield start_rad
    yield end_rad
    low, high = sorted((start_rad, end_rad))
    for half_turn in range(math.ceil(low / math.pi), math.floor(high / math.pi) + 1):
        yield half_turn * math.pi
