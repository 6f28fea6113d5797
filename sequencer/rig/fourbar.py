"""A four-bar linkage that a cylinder swings by its crank: crank, coupler and rocker over a fixed ground bar.

The ground bar runs from the crank's pivot to the rocker's, level; angles are the crank's, above it. The load
hangs on the rocker's end. Ranges by common practice, no source.
"""

from math import cos, sqrt
from typing import ClassVar

from sequencer.rig.base import contradiction
from sequencer.rig.swing import SWING_PHRASES, Arm, Swing, check_swing
from sequencer.units import Quantity, say


class Fourbar(Swing):
    kind: ClassVar[str] = "fourbar"
    phrases: ClassVar[tuple[str, ...]] = (
        *SWING_PHRASES, "ground {ground:length}", "crank {crank:length}", "coupler {coupler:length}",
        "rocker {rocker:length}",
    )

    ground: Arm
    crank: Arm
    coupler: Arm
    rocker: Arm

    def check(self) -> None:
        check_swing(self)
        for angle in (self.start, self.end):
            _check_closes(self, angle)

    def gap_m(self, angle_rad: float) -> float:
        """From the crank's end to the rocker's pivot, in metres: what coupler and rocker have to span."""
        g, c = self.ground.si, self.crank.si
        return sqrt(max(g * g + c * c - 2 * g * c * cos(angle_rad), 0.0))


def _check_closes(bars: Fourbar, angle: Quantity) -> None:
    """Coupler, rocker and gap make a triangle, so none is longer than the other two together."""
    gap, coupler, rocker = bars.gap_m(angle.si), bars.coupler.si, bars.rocker.si
    if not abs(coupler - rocker) <= gap <= coupler + rocker:
        least, most = abs(coupler - rocker), coupler + rocker
        span, low, high = (say(length, bars.coupler) for length in (gap, least, most))
        raise contradiction("coupler", f"with the crank at {angle} coupler and rocker have to span {span}, "
                                       f"and can span {low} to {high}")
