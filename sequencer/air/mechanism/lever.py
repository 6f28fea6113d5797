"""A lever swung by a cylinder -> effective mass, load and the way of its end, at every place of the rod.

With I the moment of inertia about the pivot and theta the arm's angle: m = I theta'^2, load = dV/dx with V the height
of what hangs on it times its weight. The angle itself is `swing`'s.
"""

from __future__ import annotations

import math
from dataclasses import replace

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.linkage import End, Terms
from sequencer.air.mechanism.swing import Swing
from sequencer.frozen import frozen


@frozen
class SwungArm:
    """A load `arm_m` from the pivot, taken as a point, on an even arm of that length; `share` is what the pivot eats.

    The rod's pin lies on the arm's line. The cylinder's own body, which swings a little with it, counts for nothing.
    """

    swing: Swing
    arm_m: float
    load_kg: float
    arm_kg: float = 0.0
    share: float = 0.0
    rubs_n: float = 0.0

    @property
    def out_m(self) -> float:
        return self.swing.out_m

    @property
    def inertia_kg_m2(self) -> float:
        """About the pivot: m r^2 for the load and m r^2 / 3 for an even bar by its end (any table of inertias).

        >>> SwungArm(Swing(0.3, 0.4, 0.0, 1.0, 2.0), 0.6, 2.0, 3.0).inertia_kg_m2
        1.08
        """
        return (self.load_kg + self.arm_kg / 3) * self.arm_m**2

    def terms(self, x_m: float) -> Terms:
        """m = I theta'^2, m'/2 = I theta' theta'', load = (load + arm / 2) g r cos(theta) theta'.

        >>> arm = SwungArm(Swing(0.3, 0.4, -math.pi / 2, 0.0, 0.5), 0.6, 2.0)
        >>> [round(value, 4) for value in arm.terms(0.0)]  # level, 2 kg at 0.6 m, line of push 0.24 m from the pivot
        [12.5, 25.0, 49.0332]
        """
        angle, slope, bend = self.swing.turn_at(x_m)
        inertia = (self.load_kg + self.arm_kg / 3) * self.arm_m**2
        moment = (self.load_kg + self.arm_kg / 2) * GRAVITY_M_S2 * self.arm_m * math.cos(angle)
        return inertia * slope * slope, inertia * slope * bend, moment * slope

    def end_at(self, x_m: float) -> End:
        angle, slope, bend = self.swing.turn_at(x_m)
        r = self.arm_m
        toward = math.copysign(r, self.swing.end_rad - self.swing.start_rad)
        travel = toward * (angle - self.swing.start_rad)
        return End(r * math.cos(angle), r * math.sin(angle), angle, travel, toward * slope, toward * bend)

    def with_rod_at(self, rod_at_m: float) -> SwungArm:
        """The same arm and swing with the rod pinned elsewhere on it; whether it can swing so is not said."""
        return replace(self, swing=replace(self.swing, rod_at_m=rod_at_m))
