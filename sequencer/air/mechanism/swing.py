"""The place of the rod -> the angle of the arm it swings, and how that angle goes with the rod.

A cylinder between a fixed pin and a pin on an arm: with a from pivot to rod pin, d from pivot to fixed pin and phi the
angle between them at the pivot, the length from pin to pin is l^2 = a^2 + d^2 - 2 a d cos phi (law of cosines, Euclid,
Elements II.12-13), and dl/dphi = a d sin phi / l: the distance of the cylinder's line from the pivot. Where the three
points stand in one line (phi a multiple of 180 deg) that is 0, a dead centre. What the arm carries is left to `lever`
and `fourbar`.
"""

from __future__ import annotations

import math
from dataclasses import field

from sequencer.air.mechanism.linkage import NEAR_DEAD_RAD, within
from sequencer.frozen import frozen


@frozen
class Swing:
    """An arm from `start_rad` (rod home) to `end_rad` (rod out), both above level, as is the way to the fixed pin.

    Good for use where `dead_centre_rad` finds none and `out_m` is above 0.
    """

    rod_at_m: float
    base_at_m: float
    base_rad: float
    start_rad: float
    end_rad: float
    home_m: float = field(init=False)
    out_m: float = field(init=False)
    _side: float = field(init=False)
    _zero_rad: float = field(init=False)

    def __post_init__(self) -> None:
        turns = math.floor((self.start_rad + self.end_rad - 2 * self.base_rad) / (2 * math.pi))
        side = 1.0 if turns % 2 == 0 else -1.0
        home = self.pin_to_pin_m(self.start_rad)
        derived = {
            "home_m": home, "out_m": self.pin_to_pin_m(self.end_rad) - home, "_side": side,
            "_zero_rad": self.base_rad + math.pi * (turns if side > 0 else turns + 1),
        }
        for name, value in derived.items():
            object.__setattr__(self, name, value)

    def pin_to_pin_m(self, angle_rad: float) -> float:
        """Length of the cylinder with the arm at this angle.

        >>> Swing(3.0, 4.0, 0.0, 1.0, 2.0).pin_to_pin_m(math.pi / 2)
        5.0
        """
        a, d = self.rod_at_m, self.base_at_m
        return math.sqrt(max(a * a + d * d - 2 * a * d * math.cos(angle_rad - self.base_rad), 0.0))

    def turn_at(self, x_m: float) -> tuple[float, float, float]:
        """Angle of the arm in rad, its slope in rad/m and the slope of that in rad/m2, with the rod at x.

        theta' = 1 / l', theta'' = -l'' / l'^3, with l' = a d sin(phi) / l and l'' = (a d cos(phi) - l'^2) / l.

        >>> swing = Swing(3.0, 4.0, 0.0, math.pi / 2, 2.0)
        >>> [round(value, 6) for value in swing.turn_at(0.0)]  # right angle: 5 / (3 x 4) rad a metre
        [1.570796, 0.416667, 0.083333]
        """
        a, d = self.rod_at_m, self.base_at_m
        length = self.home_m + within(x_m, self.out_m)
        both = a * d
        cosine = (a * a + d * d - length * length) / (2 * both)
        cosine = min(max(cosine, -1.0), 1.0)
        arm = self._side * both * math.sqrt(1 - cosine * cosine) / length
        slope = 1 / arm
        return (
            self._zero_rad + self._side * math.acos(cosine), slope, -(both * cosine - arm * arm) / length * slope**3
        )


def dead_centre_rad(swing: Swing) -> float | None:
    """The angle of the arm at which the swing passes a dead centre or comes within half a degree of one, or None.

    >>> dead_centre_rad(Swing(0.3, 0.4, 0.0, -0.5, 0.8))
    0.0
    """
    low, high = sorted((swing.start_rad - swing.base_rad, swing.end_rad - swing.base_rad))
    half_turns = math.ceil((low - NEAR_DEAD_RAD) / math.pi)
    if half_turns * math.pi > high + NEAR_DEAD_RAD:
        return None
    return swing.base_rad + half_turns * math.pi
