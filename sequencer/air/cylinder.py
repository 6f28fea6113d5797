"""What one cylinder on one valve is to the motion solver: plain SI numbers, frozen. Knows no parts of the rig.

`Port` is one end of the cylinder with everything between it and the valve, `CylinderAir` the rest; `lines.port_of`
makes a port of tube, valve and flow control. What happens to them is left to `motion`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

from sequencer.air.flow import Flow
from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.frozen import frozen

GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall (CGPM 1901)."""
CLOSED = Flow(0.0, 0.3)
"""A way that passes nothing."""


@frozen
class Port:
    """One end of a cylinder and its line.

    `area_m2` is the area of the piston on this side, `dead_m3` the air between it and the port when the piston stands
    against this end (with a lumped tube: the tube's air too). `supply` and `exhaust` are what the valve passes, the
    exhaust with its muffler. With a `node_m3` above 0 the tube's air is a volume of its own: `before` is its half
    towards the valve, `enter` and `leave` the other half with the flow control, by the direction of the air. With
    `node_m3` 0 the whole tube stands in `enter` and `leave`, and `before` is not used.
    An `open` port is open to the air without any resistance. `cushion_m` 0: no cushion; else, over the last
    `cushion_m` before this end, `leave` shrinks to `cushion_c_m3_s_pa`. `quick_pa` above 0: a quick exhaust at the
    port lets the chamber straight out by `leave` once the line is so far below it, and lets nothing back into it.
    """

    area_m2: float
    dead_m3: float = 0.0
    supply: Flow = CLOSED
    exhaust: Flow = CLOSED
    enter: Flow = CLOSED
    leave: Flow = CLOSED
    before: Flow = CLOSED
    node_m3: float = 0.0
    open: bool = False
    cushion_m: float = 0.0
    cushion_c_m3_s_pa: float = 0.0
    quick_pa: float = 0.0
    start_pa: float | None = None
    """Pressure before the first command where the valve does not settle it; None: that of what it is connected to."""


@frozen
class Load:
    """What the rod moves: mass in kg and a force along the rod, F = `force_n` + `rate_n_m` x, positive outward.

    A return spring has force_n = -preload and rate_n_m = -rate. Weight is added by `angle_deg`: +90 extends straight
    up, -90 straight down.
    """

    mass_kg: float
    angle_deg: float = 0.0
    force_n: float = 0.0
    rate_n_m: float = 0.0

    def steady_n(self) -> float:
        """The part of the force that does not change along the stroke."""
        return self.force_n - self.mass_kg * GRAVITY_M_S2 * math.sin(math.radians(self.angle_deg))


class Drives(Protocol):
    """What the rod drives beside its own load; `mechanism` makes it of parts, and says what the answers mean."""

    @property
    def pulls(self) -> bool: ...

    def load_at(self, x_m: float, v_m_s: float, push_n: float | None = None) -> tuple[float, float, float]: ...

    def friction_n(self, x_m: float, push_n: float) -> float: ...

    def slack_at(self, x_m: float, v_m_s: float, a_m_s2: float) -> tuple[str, ...]: ...

    def without(self, names: tuple[str, ...]) -> Drives: ...

    def hot(self, rod_kg: float) -> Callable[[float, float, int, float], float] | None: ...


@frozen
class Friction:
    """Seals and guides: F = Fc + (Fs - Fc) exp(-(v / vs)^2) + B v while sliding; up to Fs at rest."""

    sliding_n: float
    static_n: float
    stribeck_m_s: float = 0.05
    viscous_n_s_m: float = 0.0


@frozen
class Spool:
    """When the valve's spool begins to move after a command, energised or not, and how long it takes.

    In the first half of `shift_s` the old way closes, in the second the new one opens. A command that comes before
    the spool has come to rest counts from that moment.
    """

    on_s: float = 0.020
    off_s: float = 0.030
    shift_s: float = 0.006


@frozen
class Manifold:
    """A regulator that feeds a volume: fully open `band_pa` below its set pressure, shut at it, never relieving."""

    volume_m3: float
    regulator: Flow
    band_pa: float
    inlet_pa: float


@frozen
class CylinderAir:
    """A cylinder, what it moves and what feeds it. The rod's place x runs from `home_m` to `out_m` within the stroke.

    `manifold` None: the supply holds `supply_pa` whatever is drawn. `wall_w_m2_k` is the heat that goes through a
    square metre of wall for a degree. `home_m` and `out_m` are where something stops the rod, by default the
    cylinder's own ends (None). `drives` is what hangs on the rod beside `load` (None: nothing).
    """

    bore_m: float
    stroke_m: float
    cap: Port
    rod: Port
    load: Load
    friction: Friction
    supply_pa: float
    spool: Spool = Spool()
    manifold: Manifold | None = None
    start_m: float = 0.0
    home_m: float = 0.0
    out_m: float | None = None
    wall_w_m2_k: float = 60.0
    ambient_pa: float = P_ATMOSPHERE_PA
    drives: Drives | None = None

    @property
    def ends_m(self) -> tuple[float, float]:
        return self.home_m, self.stroke_m if self.out_m is None else self.out_m

    def mass_at(self, x_m: float) -> float:
        """All that moves with the rod, as felt at the rod, in kg."""
        return self.load.mass_kg + (self.drives.load_at(x_m, 0.0)[0] if self.drives is not None else 0.0)


def faults_of(cylinder: CylinderAir) -> tuple[str, ...]:
    """What makes a motion impossible to reckon, in words: property, figure, sane range. Empty when it can be."""
    low, high = cylinder.ends_m
    rules = (
        (0 < cylinder.bore_m < math.inf, f"bore of {cylinder.bore_m} m: it must be above 0"),
        (0 <= low < high <= cylinder.stroke_m * (1 + 1e-12), f"ends at {low} and {high} m of a stroke of "
            f"{cylinder.stroke_m} m: they must lie within it, in order"),
        (low <= cylinder.start_m <= high, f"start at {cylinder.start_m} m: it must lie between {low} and {high} m"),
        (0 < cylinder.load.mass_kg < math.inf, f"moving mass of {cylinder.load.mass_kg} kg: it must be above 0"),
        (0 <= cylinder.friction.sliding_n <= cylinder.friction.static_n < math.inf,
         f"friction of {cylinder.friction.sliding_n} N sliding and {cylinder.friction.static_n} N at rest: "
         "at rest it is never less, and neither is negative"),
        (cylinder.friction.stribeck_m_s > 0 and cylinder.friction.viscous_n_s_m >= 0,
         "friction by speed: its speed must be above 0 and its factor not negative"),
        (cylinder.ambient_pa <= cylinder.supply_pa < 5e6,
         f"supply of {cylinder.supply_pa} Pa absolute: it must lie between the air outside and 5 MPa"),
        (min(cylinder.spool.on_s, cylinder.spool.off_s) >= 0 and cylinder.spool.shift_s > 0,
         "valve times: delays must not be negative and the shift must take some time"),
        *_manifold_rules(cylinder),
        *(rule for port, name in ((cylinder.cap, "cap"), (cylinder.rod, "rod")) for rule in _port_rules(port, name)),
    )
    return tuple(words for holds, words in rules if not holds)


def _manifold_rules(cylinder: CylinderAir) -> tuple[tuple[bool, str], ...]:
    manifold = cylinder.manifold
    if manifold is None:
        return ()
    return (
        (manifold.volume_m3 > 0, f"manifold of {manifold.volume_m3} m3: its volume must be above 0"),
        (manifold.band_pa > 0, f"regulator with a band of {manifold.band_pa} Pa: it must be above 0"),
        (manifold.regulator.c_m3_s_pa > 0, "regulator that passes nothing: its conductance must be above 0"),
        (manifold.inlet_pa >= cylinder.supply_pa, f"regulator fed with {manifold.inlet_pa} Pa absolute and set to "
                                                  f"{cylinder.supply_pa}: it cannot give more than it gets"),
    )


def _port_rules(port: Port, name: str) -> tuple[tuple[bool, str], ...]:
    if port.open:
        return ((port.area_m2 > 0, f"area at the {name} end of {port.area_m2} m2: it must be above 0"),)
    cushion = port.cushion_m == 0 or port.cushion_c_m3_s_pa > 0
    return (
        (port.area_m2 > 0, f"area at the {name} end of {port.area_m2} m2: it must be above 0"),
        (port.dead_m3 > 0, f"dead volume at the {name} end of {port.dead_m3} m3: it must be above 0"),
        (port.node_m3 >= 0, f"tube volume at the {name} end of {port.node_m3} m3: it must not be negative"),
        (port.quick_pa >= 0, f"quick exhaust at the {name} end that opens at {port.quick_pa} Pa: it must be above 0"),
        (cushion, f"cushion at the {name} end: shut off altogether, the rod would never arrive"),
    )
