"""A tube by its inner diameter and length -> its (C, b), the air it holds, the delay of its pressure wave.

Metres. Bends, kinks and fittings are not in it: a push-in elbow counts as a restriction of its own (see series).
"""

from __future__ import annotations

import math

from sequencer.air.flow import Flow
from sequencer.air.gas import SOUND_M_S

LEAST_B, MOST_B = 0.05, 0.55
"""The b of the tube law is held between these (assumed): a very long tube chokes hardly ever, a short one is an
orifice."""


def tube_flow(inner_m: float, length_m: float) -> Flow:
    """C = 0.029 d^2 / sqrt(L / d^1.25 + 510), b = 474 C / d^2 held in 0.05 to 0.55; metres and m3/(s Pa).

    Range: smooth plastic tube, about 2 to 12 mm, 0.1 to 30 m. Source: Eckersten's correlation as given by Beater,
    Pneumatic Drives (Springer 2007), from memory. Against adiabatic flow with friction (Fanno, computed) C is 7 to
    11 % low for 2.5 to 6 mm. Raises ValueError unless both are above 0.

    >>> tube = tube_flow(0.004, 1.0)
    >>> round(tube.c_m3_s_pa * 1e8, 4), round(tube.b, 4)
    (1.1964, 0.3544)
    """
    if not (0 < inner_m < math.inf and 0 < length_m < math.inf):
        raise ValueError(f"no tube is {inner_m} m wide and {length_m} m long")
    c = 0.029 * inner_m**2 / math.sqrt(length_m / inner_m**1.25 + 510)
    return Flow(c, min(max(474 * c / inner_m**2, LEAST_B), MOST_B))


def tube_volume_m3(inner_m: float, length_m: float) -> float:
    """Air space of a tube: pi/4 d^2 L. At each stroke it fills and empties with the chamber.

    >>> round(tube_volume_m3(0.004, 2.0) * 1e6, 2)
    25.13
    """
    return math.pi / 4 * inner_m**2 * length_m


def tube_delay_s(length_m: float) -> float:
    """Time the pressure wave takes: L / 343 m/s, the speed of sound at 20 C. 3 ms a metre; 29 ms at 10 m.

    >>> round(tube_delay_s(10.0), 4)
    0.0292
    """
    return length_m / SOUND_M_S


def tube_halves(inner_m: float, length_m: float) -> tuple[Flow, float]:
    """A tube as a node of air: the (C, b) of either half, and the volume between them in m3.

    >>> half, volume = tube_halves(0.004318, 1.5)
    >>> f"{half.c_m3_s_pa:.3e}", round(volume * 1e6, 2)
    ('1.569e-08', 21.97)
    """
    return tube_flow(inner_m, length_m / 2), tube_volume_m3(inner_m, length_m)
