"""A piston under pressure -> areas, forces, margins, the energy it arrives with, what its rod bears, steady speeds.

Forces at rest or at steady speed only; how a piston gets there is the motion's. Newtons, metres, absolute pressures.
None of these figures makes a prop safe to touch: a cylinder below its limits still crushes a hand.
"""

from __future__ import annotations

import math

from sequencer.air.flow import Flow, share
from sequencer.air.gas import GRAVITY_M_S2, P_ANR_PA, P_ATMOSPHERE_PA
from sequencer.frozen import frozen

SEAL_FRICTION_PA = 0.3e5
"""Friction of seals as a pressure on the bore: 5 % of the force at 6 bar. From memory; Machine Design ("A few
guidelines: pneumatic actuator load requirements") has 1 to 10 psi (0.07 to 0.7 bar), others 10 to 25 % of the force.
Twice as much makes an arrival 4 to 5 % later (computed with the air model)."""
LOAD_RATIO_STILL, LOAD_RATIO_MOVING, LOAD_RATIO_FAST = 0.7, 0.5, 0.4
"""Most load as a share of the theoretical force: held still, moved, moved fast (0.3, 0.2 and less for very fast).
Source: SMC, Air Cylinders Model Selection, page 21 of section 6-2-1."""
STEEL_PA = 210e9
"""Modulus of elasticity of rod steel (handbook value)."""
ROD_FREE_END = 2.0
"""Effective length over length of a rod fixed in its piston and free at its end: Euler's second case turned round;
2.1 in design."""


@frozen
class Piston:
    """Bore and rod in metres; a rod of 0 is a cylinder without one. Raises ValueError unless 0 <= rod < bore."""

    bore_m: float
    rod_m: float

    def __post_init__(self) -> None:
        if not 0 <= self.rod_m < self.bore_m < math.inf:
            raise ValueError(f"a rod of {self.rod_m} m does not go into a bore of {self.bore_m} m")


def cap_area_m2(piston: Piston) -> float:
    """Area that pushes out: pi/4 bore^2.

    >>> round(cap_area_m2(Piston(0.032, 0.012)) * 1e6, 2)
    804.25
    """
    return math.pi / 4 * piston.bore_m**2


def ring_area_m2(piston: Piston) -> float:
    """Area that pulls back: pi/4 (bore^2 - rod^2).

    >>> round(ring_area_m2(Piston(0.032, 0.012)) * 1e6, 2)
    691.15
    """
    return math.pi / 4 * (piston.bore_m**2 - piston.rod_m**2)


def theoretical_force_n(area_m2: float, pressure_pa_gauge: float) -> float:
    """Pressure times area against atmosphere on the other side, no friction: what tables of cylinders print.

    >>> round(theoretical_force_n(cap_area_m2(Piston(0.032, 0.012)), 6e5), 1)  # ISO 15552 size 32/12 at 6 bar
    482.5
    """
    return area_m2 * pressure_pa_gauge


def net_force_n(piston: Piston, cap_pa: float, ring_pa: float, ambient_pa: float = P_ATMOSPHERE_PA) -> float:
    """Force of the air outward, with any pressure at either side: (p_A - p_amb) A_A - (p_B - p_amb) A_B.

    Equal pressures push a rod out: the ring is the smaller.

    >>> round(net_force_n(Piston(0.032, 0.012), 7e5, 7e5), 1)
    67.7
    """
    return (cap_pa - ambient_pa) * cap_area_m2(piston) - (ring_pa - ambient_pa) * ring_area_m2(piston)


def seal_friction_n(piston: Piston) -> float:
    """Sliding friction when nothing better is known: 0.3 bar on the bore.

    >>> round(seal_friction_n(Piston(0.032, 0.012)), 1)
    24.1
    """
    return SEAL_FRICTION_PA * cap_area_m2(piston)


def weight_along_n(mass_kg: float, angle_rad: float) -> float:
    """Part of a weight that acts against the rod going out; the angle is above level, negative where it hangs down.

    >>> round(weight_along_n(2.0, math.radians(30)), 3)
    9.807
    """
    return mass_kg * GRAVITY_M_S2 * math.sin(angle_rad)


def force_margin(available_n: float, load_n: float) -> float:
    """What is left of a force over the load, as a share of the force: 0 just balances, negative does not move.

    Raises ValueError for an available force that is not above 0.

    >>> round(force_margin(482.5, 241.25), 3)
    0.5
    """
    if not available_n > 0:
        raise ValueError(f"a force of {available_n} N has no margin")
    return 1 - load_n / available_n


def least_pressure_pa_gauge(area_m2: float, load_n: float, load_ratio: float = 1.0) -> float:
    """Gauge pressure at which the load is a given share of the force (1: it just balances).

    >>> round(least_pressure_pa_gauge(8.0425e-4, 241.27, 0.5) / 1e5, 2)
    6.0
    """
    return load_n / (area_m2 * load_ratio)


def spring_position_m(force_n: float, stiffness_n_m: float) -> float:
    """Where a spring without preload balances a force: x = F / k. Range: within the stroke, which is the caller's.

    >>> round(spring_position_m(35.48, 1330.0), 5)
    0.02668
    """
    return force_n / stiffness_n_m


def end_energy_j(mass_kg: float, speed_m_s: float) -> float:
    """What the stop must take up besides the push of the air: m v^2 / 2.

    >>> end_energy_j(4.0, 0.5)
    0.5
    """
    return mass_kg * speed_m_s**2 / 2


def buckling_load_n(rod_m: float, free_m: float, end_factor: float = ROD_FREE_END) -> float:
    """Push at which a slender rod buckles: pi^2 E I / (K L)^2, I = pi d^4 / 64. Keep 3.5 to 5 times below it.

    Range: slender (K L above about 25 rod diameters); shorter ones yield first. Source: Euler's column formula (any
    handbook); factor and margin as for cylinders, common practice.

    >>> round(buckling_load_n(0.012, 0.5))
    2110
    """
    return math.pi**2 * STEEL_PA * math.pi * rod_m**4 / 64 / (end_factor * free_m) ** 2


def speed_metered_out_m_s(out: Flow, area_m2: float, air_k_over_anr: float = 1.0) -> float:
    """Steady speed when air leaves through a choked restriction: C p_ANR / A sqrt(T / T_ANR), whatever the load.

    Range: the emptying side well above the outside (by 1 / b), steady. Source: mass balance with ISO 6358; that the
    load does not count is also a stated result of "Dynamics of Pneumatic Cylinder Systems" (JFPS, abstract).

    >>> round(speed_metered_out_m_s(Flow(1e-9, 0.3), ring_area_m2(Piston(0.032, 0.012))), 5)
    0.14469
    """
    return out.c_m3_s_pa * P_ANR_PA / area_m2 * math.sqrt(air_k_over_anr)


def speed_metered_in_m_s(into: Flow, area_m2: float, supply_pa: float, needed_pa: float) -> float:
    """Steady speed when air enters through a restriction and must hold `needed_pa` before the piston.

    C p_ANR (p_supply / p_needed) share(p_needed / p_supply) / A at 20 C; 0 where the supply cannot hold it.

    >>> round(speed_metered_in_m_s(Flow(1e-9, 0.3), 8.0425e-4, 7e5, 2e5), 4)
    0.4352
    """
    if needed_pa >= supply_pa:
        return 0.0
    ratio = needed_pa / supply_pa
    return into.c_m3_s_pa * P_ANR_PA * share(ratio, into.b) / (ratio * area_m2)
