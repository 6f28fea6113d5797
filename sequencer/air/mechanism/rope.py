"""A rope that the rod pulls -> effective mass, load and height of the piece it lifts, one way only.

With the rod at the end where it does not pull, the piece rests on its stop and the rope is just straight. Rope pulled
in by u = times x (way of the rod) lifts it by h(u). A rope that stretches by delta under the piece takes up that much
first: h = u^2 / (4 delta) up to u = 2 delta, then h = u - delta. That ramp is this project's choice: it has no corner
in speed and ends with the right lag, but stores nothing in the rope and lets nothing bounce.
"""

from __future__ import annotations

from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.linkage import End, Terms, within
from sequencer.frozen import frozen


@frozen
class RopeLift:
    """`times`: how much further the piece goes than the rod; `share`: what all pulleys together eat of the pull.

    `stretch_m`: how much longer the rope is under the piece. `pulls_out` tells which way of the rod lifts it. `out_m`
    is the stroke: a rope that pulls while the rod goes home is just straight there.
    """

    load_kg: float
    times: int
    out_m: float
    pulls_out: bool
    stretch_m: float = 0.0
    share: float = 0.0
    rubs_n: float = 0.0

    def lifted_at(self, x_m: float) -> tuple[float, float, float]:
        """Height of the piece above its stop in metres, dh/dx, and d2h/dx2 in 1/m.

        >>> RopeLift(5.0, 2, 0.3, pulls_out=True).lifted_at(0.1)
        (0.2, 2.0, 0.0)
        """
        place = within(x_m, self.out_m)
        sign = 1.0 if self.pulls_out else -1.0
        pulled = self.times * (place if self.pulls_out else self.out_m - place)
        delta = self.stretch_m
        if pulled >= 2 * delta:
            return pulled - delta, sign * self.times, 0.0
        return pulled * pulled / (4 * delta), sign * self.times * pulled / (2 * delta), self.times**2 / (2 * delta)

    def terms(self, x_m: float) -> Terms:
        """m = M h'^2, m'/2 = M h' h'', load = M g h': a tackle of n parts feels the weight n times.

        >>> [round(value, 3) for value in RopeLift(5.0, 2, 0.3, pulls_out=True).terms(0.1)]
        [20.0, 0.0, 98.066]
        """
        _, slope, bend = self.lifted_at(x_m)
        mass = self.load_kg
        return mass * slope * slope, mass * slope * bend, mass * GRAVITY_M_S2 * slope

    def end_at(self, x_m: float) -> End:
        height, slope, bend = self.lifted_at(x_m)
        up = height - self.lifted_at(0.0)[0]
        sign = 1.0 if self.pulls_out else -1.0
        return End(0.0, up, 0.0, sign * up, sign * slope, sign * bend)

    def tension_n(self, x_m: float, v_m_s: float, a_m_s2: float) -> float:
        """Pull at the piece, M (g + h''), when the rod goes so. Below 0 the rope would have to push: it is slack.

        >>> RopeLift(5.0, 2, 0.3, pulls_out=True).tension_n(0.1, -1.0, -6.0) < 0  # down faster than it can fall
        True
        """
        _, slope, bend = self.lifted_at(x_m)
        return self.load_kg * (GRAVITY_M_S2 + slope * a_m_s2 + bend * v_m_s**2)
