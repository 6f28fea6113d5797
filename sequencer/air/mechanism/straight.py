"""Loads that go as the rod goes: a mass on the rod or on a slide, and springs beside it.

A mass on a slope of angle `rises`: effective mass m, load m g sin(rises). What bends the way is left to the others.
"""

from __future__ import annotations

import math

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.linkage import End, Terms
from sequencer.frozen import frozen


@frozen
class StraightLoad:
    """A mass that the rod pushes along a line `rises_rad` above level; `rubs_n` is the friction of its guide."""

    mass_kg: float
    rises_rad: float = 0.0
    rubs_n: float = 0.0
    out_m: float = math.inf
    share: float = 0.0

    def terms(self, x_m: float) -> Terms:
        """Mass, no slope, weight along the way.

        >>> round(StraightLoad(2.0, math.radians(30)).terms(0.1)[2], 5)  # half the weight of 2 kg
        9.80665
        """
        return self.mass_kg, 0.0, self.mass_kg * GRAVITY_M_S2 * math.sin(self.rises_rad)

    def end_at(self, x_m: float) -> End:
        angle = self.rises_rad
        return End(x_m * math.cos(angle), x_m * math.sin(angle), angle, x_m, 1.0, 0.0)


@frozen
class OutsideSpring:
    """A spring between the rod and something fixed; `preload_n` is its force with the rod home, `rate_n_m` its rate.

    One that pushes home is drawn tighter as the rod goes out; one that pushes out lets go until it is slack. It has no
    mass here: a third of a spring's own mass moves with its end (from memory), little beside any prop.
    """

    rate_n_m: float
    preload_n: float
    pushes_home: bool
    out_m: float = math.inf
    rubs_n: float = 0.0
    share: float = 0.0

    def terms(self, x_m: float) -> Terms:
        """Hooke's law; a load where it pushes home, the opposite of one where it pushes out.

        >>> OutsideSpring(1000.0, 80.0, pushes_home=False).terms(0.05)
        (0.0, 0.0, -30.0)
        """
        if self.pushes_home:
            return 0.0, 0.0, max(self.preload_n + self.rate_n_m * x_m, 0.0)
        return 0.0, 0.0, min(self.rate_n_m * x_m - self.preload_n, 0.0)

    def end_at(self, x_m: float) -> None:
        """A spring carries nothing."""
        return None


def guide_friction_n(mass_kg: float, rises_rad: float, share: float, drag_n: float) -> float:
    """Coulomb friction of a slide: share x m g cos(rises) + drag. Any textbook of statics.

    >>> round(guide_friction_n(10.0, math.radians(60), 0.2, 3.0), 3)
    12.807
    """
    return share * mass_kg * GRAVITY_M_S2 * math.cos(rises_rad) + drag_n
