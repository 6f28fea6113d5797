"""What every linkage tells the motion of a rod, and the values it tells it in. The kinds are files beside this one.

The rod's place x is in metres, 0 with the rod home, growing as it goes out. All else follows from x by virtual work:

    m(x) a + 1/2 m'(x) v^2 = push - load(x, v)

with m the effective mass at the rod: twice the energy of all that moves, over v^2. `push` is the force of the air on
the piston, positive outward, less the cylinder's own seal friction, which is not here. `load` is what the linkage sets
against the rod: positive where it pushes the rod home, negative where it draws it out. The sum over several pieces on
one rod is left to `mechanism`.
"""

from __future__ import annotations

import math
from typing import Protocol, runtime_checkable

from sequencer.frozen import frozen

NEAR_DEAD_RAD = math.radians(0.5)
"""Closer to a dead centre than this no linkage is reckoned: play in the pins then decides which way it goes. Common
practice, no source; at 0.5 deg the pin moves 115 times as far as the rod, so nothing usable is lost."""

Terms = tuple[float, float, float]
"""At one x: effective mass in kg, half its slope m'(x) / 2 in kg/m, load without friction in N, positive homeward."""


@frozen
class End:
    """Where the end of a prop is, and how it goes with the rod.

    `right_m` and `up_m` count from the fixed pivot (lever, rocker), the fixed joint of the base (scissor) or the place
    with the rod home (slide, rope, load on the rod). `angle_rad` is that of the piece that carries it, above level.
    `travel_m` runs along the path from where it stands with the rod home, positive toward where it stands with the rod
    out. `ratio` is d travel / dx, `bend_1_m` its slope in 1/m.
    """

    right_m: float
    up_m: float
    angle_rad: float
    travel_m: float
    ratio: float
    bend_1_m: float

    def speed_m_s(self, rod_m_s: float) -> float:
        """Speed along the path when the rod goes at `rod_m_s`."""
        return self.ratio * rod_m_s

    def acceleration_m_s2(self, rod_m_s: float, rod_m_s2: float) -> float:
        """Acceleration along the path: ratio a + bend v^2. That toward the centre of a curved path is not in it."""
        return self.ratio * rod_m_s2 + self.bend_1_m * rod_m_s**2


class Linkage(Protocol):
    """One piece on the rod. Outside 0 to `out_m` its answers are those at the nearer end.

    `rubs_n` is friction that is always there; `share` is what it eats of the force that goes through it, 0 to below 1.
    """

    @property
    def out_m(self) -> float: ...

    @property
    def rubs_n(self) -> float: ...

    @property
    def share(self) -> float: ...

    def terms(self, x_m: float) -> Terms: ...

    def end_at(self, x_m: float) -> End | None: ...


@runtime_checkable
class Pulling(Protocol):
    """A piece that can only pull: `tension_n` below 0 where it would have to push, and is slack."""

    def tension_n(self, x_m: float, v_m_s: float, a_m_s2: float) -> float: ...


@frozen
class Impossible:
    """A linkage that cannot be built as it is said: name of the part, the property to look at, a sentence."""

    part: str
    field: str
    sentence: str


@frozen
class Remark:
    """What can be built but will not stand where its author says: name of the part, property, sentence."""

    part: str
    field: str
    sentence: str


def within(x_m: float, out_m: float) -> float:
    """The nearest place between home and `out_m`; a solver may try a hair beyond an end before it finds the stop.

    >>> within(-1e-6, 0.3), within(0.1, 0.3), within(0.31, 0.3)
    (0.0, 0.1, 0.3)
    """
    return 0.0 if x_m < 0 else min(x_m, out_m)
