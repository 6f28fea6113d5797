"""Formulas of flow and of air used, each for itself: C and b of restrictions in series, of a tube, of a needle;
the steady speed that a restriction allows; the free air of a stroke.

SI throughout. Conductance C is sonic conductance (ISO 6358) in m3/(s Pa); pressures are absolute unless the name
says gauge. Values and laws marked "from memory" were not found in a source read here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

P_ANR_PA = 1.0e5
"""Reference pressure of free air (ANR, ISO 8778: 20 C, 100 kPa)."""
P_ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere (ISO 2533); 1 % off moves a speed by less than 1 %."""
GRAVITY_M_S2 = 9.80665
SOUND_M_S = 343.0
"""Speed of sound in air at 20 C, from memory."""
LONG_TUBE_M = 10.0
"""From this length on the pressure wave is counted as a delay (assumed, measure yours)."""


def conductance_in_series(parts: Iterable[float]) -> float:
    """C of restrictions one behind the other: C = (sum C_i^-3)^(-1/3). From memory; a few per cent off at worst.

    >>> round(conductance_in_series([2e-8, 2e-8]) / 2e-8, 4)
    0.7937
    """
    return sum(part**-3 for part in parts) ** (-1 / 3)


def tube_conductance(inner_m: float, length_m: float) -> float:
    """C of a smooth tube: C = 0.029 d^2 / sqrt(L / d^1.25 + 510), d and L in metres. From memory.

    >>> f"{tube_conductance(0.0043, 1.5):.2e}"
    '1.24e-08'
    """
    return 0.029 * inner_m**2 / math.sqrt(length_m / inner_m**1.25 + 510)


def needle_conductance(full: float, opening: float) -> float:
    """C of a needle: C = C_full (0.02 + 0.98 s^1.5), s from 0 to 1. Assumed: laws differ by maker, measure yours.

    >>> needle_conductance(1e-8, 1.0)
    1e-08
    """
    return full * (0.02 + 0.98 * opening**1.5)


def speed_metered_out(conductance: float, area_m2: float) -> float:
    """Steady speed when air leaves through a choked restriction: v = C p_ANR / A, whatever load and pressure.

    Range: the emptying side well above atmosphere, air at 20 C.

    >>> round(speed_metered_out(1e-9, 6.911e-4), 4)
    0.1447
    """
    return conductance * P_ANR_PA / area_m2


def speed_metered_in(conductance: float, area_m2: float, supply_pa: float, needed_pa: float, b: float) -> float:
    """Steady speed when air comes in through a restriction and must hold `needed_pa` in front of the piston.

    v = C p_ANR (p_supply / p_needed) f(p_needed / p_supply) / A with f of ISO 6358: 1 up to b, then an ellipse.
    No speed at all where the supply cannot hold it.
    """
    ratio = needed_pa / supply_pa
    if ratio >= 1:
        return 0.0
    f = 1.0 if ratio <= b else math.sqrt(1 - ((ratio - b) / (1 - b)) ** 2)
    return conductance * P_ANR_PA * f / (ratio * area_m2)


def free_air_of_filling_m3(
    swept_m3: float, dead_m3: float, pressure_pa_gauge: float, ambient_pa: float = P_ATMOSPHERE_PA
) -> float:
    """Free air (ANR) that fills a swept and a dead volume up to a pressure, the dead one from atmosphere.

    V = ((V_swept + V_dead) (p + p_ambient) - V_dead p_ambient) / p_ANR, isothermal at 20 C.

    >>> round(free_air_of_filling_m3(1e-3, 0.0, 6e5) * 1000, 3)
    7.013
    """
    filled = (swept_m3 + dead_m3) * (pressure_pa_gauge + ambient_pa)
    return (filled - dead_m3 * ambient_pa) / P_ANR_PA
