"""A scissor stack whose lowest joint the rod slides along the base -> effective mass, load, height of its top.

n stages of crossed links of length L at angle theta: height n L sin(theta), base L cos(theta), so the top goes
n / tan(theta) times as far as the rod, and a weight on top comes to weight x n / tan(theta) at the rod. One joint of
the base is fixed, the other slides level; the top goes straight up.
"""

from __future__ import annotations

import math

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.linkage import End, Terms, within
from sequencer.frozen import frozen


@frozen
class ScissorStack:
    """`links_kg` is the mass of all 2 n links, even bars. Angles above level, between 0 and 90 deg without the ends."""

    stages: int
    link_m: float
    start_rad: float
    end_rad: float
    load_kg: float
    links_kg: float = 0.0
    share: float = 0.0
    rubs_n: float = 0.0

    @property
    def out_m(self) -> float:
        """How far the joint slides along the base.

        >>> round(ScissorStack(2, 0.5, math.radians(20), math.radians(60), 3.0).out_m, 6)
        0.219846
        """
        return self.link_m * abs(math.cos(self.start_rad) - math.cos(self.end_rad))

    def turn_at(self, x_m: float) -> tuple[float, float, float]:
        """Cosine and sine of the links' angle, and its slope in rad/m: theta' = 1 / (L sin(theta)) when it rises."""
        rises = 1.0 if self.end_rad > self.start_rad else -1.0
        cosine = math.cos(self.start_rad) - rises * within(x_m, self.out_m) / self.link_m
        sine = math.sqrt(1 - cosine * cosine)
        return cosine, sine, rises / (self.link_m * sine)

    def terms(self, x_m: float) -> Terms:
        """Load (W + w / 2) n / tan(theta), W on top and w the links' weight; m from the energy of top and links.

        A link's middle is half a base from the fixed side and (i + 1/2) stages up, and it turns as well. Summed over
        the links that is w L^2 theta'^2 (1/12 + sin^2 / 4 + cos^2 (4 n^2 - 1) / 12). The load agrees with Spackman,
        Mathematical Analysis of Scissor Lifts (1989), from memory. At 45 deg and one stage the load is the weight:

        >>> stack = ScissorStack(1, 0.5, math.radians(45), math.radians(60), 3.0)
        >>> [round(value, 4) for value in stack.terms(0.0)]
        [3.0, -16.9706, 29.42]
        """
        cosine, sine, slope = self.turn_at(x_m)
        n, link2 = self.stages, self.link_m**2
        high = (4 * n * n - 1) / 12
        load, links = self.load_kg * n * n, self.links_kg
        inertia = link2 * (load * cosine * cosine + links * (1 / 12 + sine * sine / 4 + high * cosine * cosine))
        inertia_slope = link2 * 2 * sine * cosine * (links * (1 / 4 - high) - load)
        bend = -cosine / sine * slope * slope
        mass = inertia * slope * slope
        half = inertia_slope * slope**3 / 2 + inertia * slope * bend
        weight = (self.load_kg + links / 2) * GRAVITY_M_S2
        return mass, half, weight * n * self.link_m * cosine * slope

    def end_at(self, x_m: float) -> End:
        """The top: dh/dx = n / tan(theta), d2h/dx2 = -n / (L sin^3(theta)); both turned round where it sinks."""
        cosine, sine, slope = self.turn_at(x_m)
        n, link = self.stages, self.link_m
        rises = 1.0 if self.end_rad > self.start_rad else -1.0
        height = n * link * sine
        travel = rises * (height - n * link * math.sin(self.start_rad))
        bend = -rises * n / (link * sine**3)
        return End(0.0, height, math.atan2(sine, cosine), travel, rises * n * link * cosine * slope, bend)
