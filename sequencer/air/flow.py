"""Flow through one restriction: its C and b (ISO 6358) and the pressures at both sides -> kg of air a second.

`share` is the whole law; everything else here scales it. A hot loop may inline `mass_flow_kg_s`, which takes plain
floats. C is sonic conductance in m3/(s Pa) referred to ANR; pressures are absolute. How C and b come about is left
to tube, needle, parts, convert and series.

    kg/s = C rho_ANR p_up sqrt(T_ANR / T_up) share(p_down / p_up, b)

Source of the law: ISO 6358-1:2013 with its subsonic index m = 0.5, read on the pages of two simulation tools for the
same standard ("Constant Area Pneumatic Orifice (ISO 6358)" and "Air Orifice ISO6358"), which also add a straight
line near equal pressures, where the slope of the ellipse has no bound.
"""

from __future__ import annotations

import math

from sequencer.air.gas import DENSITY_ANR_KG_M3, T_ANR_K
from sequencer.frozen import frozen

BETA = 0.99
"""Pressure ratio from which flow is taken as straight. Assumed: the sources give 0.995 to 0.999; 0.99 makes the
equations three times less stiff and shifts an arrival by 0.03 % in most cases, 0.44 % at worst (computed)."""


@frozen
class Flow:
    """What a restriction passes: sonic conductance C in m3/(s Pa) at ANR, critical pressure ratio b.

    1 dm3/(s bar) is 1e-8 m3/(s Pa). C = 0 is a closed way. Raises ValueError unless C is finite and not negative,
    and 0 <= b < 0.99.
    """

    c_m3_s_pa: float
    b: float

    def __post_init__(self) -> None:
        if not 0 <= self.c_m3_s_pa < math.inf:
            raise ValueError(f"a conductance of {self.c_m3_s_pa} m3/(s Pa) is none")
        if not 0 <= self.b < BETA:
            raise ValueError(f"a critical pressure ratio of {self.b} is not between 0 and {BETA}")


def share(ratio: float, b: float, beta: float = BETA) -> float:
    """Flow as a share of the choked flow, at the pressure ratio p_down / p_up (0 to 1).

    1 up to b (choked); sqrt(1 - ((ratio - b) / (1 - b))^2) up to beta; from there straight to 0 at ratio 1. Smooth to
    the first derivative at b, continuous at beta. Range: 0 <= ratio <= 1, 0 <= b < beta. ISO 6358-1 lets m be
    fitted to a measured part; with m = 0.5 fixed, as in catalogues, the ellipse is what b was read from.

    >>> round(share(0.8, 0.3), 6)
    0.699854
    """
    if ratio <= b:
        return 1.0
    if ratio < beta:
        return math.sqrt(1 - ((ratio - b) / (1 - b)) ** 2)
    return math.sqrt(1 - ((beta - b) / (1 - b)) ** 2) * (1 - ratio) / (1 - beta)


def share_slope(ratio: float, b: float, beta: float = BETA) -> float:
    """d share / d ratio: 0 while choked, negative beyond. At beta it jumps; the straight side is given.

    >>> round(share_slope(0.8, 0.3), 6)
    -1.45803
    """
    if ratio <= b:
        return 0.0
    if ratio < beta:
        along = (ratio - b) / (1 - b)
        return -along / ((1 - b) * math.sqrt(1 - along * along))
    return -math.sqrt(1 - ((beta - b) / (1 - b)) ** 2) / (1 - beta)


def ratio_for_share(wanted: float, b: float) -> float:
    """The highest pressure ratio p_down / p_up at which `wanted` (0 to 1) of the choked flow passes.

    Inverse of `share`; at 1 it gives b, the ratio where choking begins. Raises ValueError outside 0 to 1.

    >>> round(ratio_for_share(share(0.8, 0.3), 0.3), 12)
    0.8
    """
    if not 0 <= wanted <= 1:
        raise ValueError(f"{wanted} is not a share of the choked flow")
    at_beta = share(BETA, b)
    if wanted <= at_beta:
        return 1 - (1 - BETA) * wanted / at_beta
    return b + (1 - b) * math.sqrt(1 - wanted * wanted)


def free_flow_m3_s(flow: Flow, up_pa: float, down_pa: float, up_k: float = T_ANR_K) -> float:
    """Volume of free air (ANR) a second from up to down; `up_pa` must be the higher pressure.

    C p_up sqrt(T_ANR / T_up) share. In litres a minute this is what catalogues print. Raises ValueError if down is
    higher than up or up is not above 0.

    >>> round(free_flow_m3_s(Flow(2e-8, 0.3), 5e5, 1e5) * 60_000, 6)  # 2 dm3/(s bar) from 5 bar, choked: l/min
    600.0
    """
    if not 0 <= down_pa <= up_pa or up_pa == 0:
        raise ValueError(f"no flow is defined from {up_pa} Pa down to {down_pa} Pa absolute")
    return flow.c_m3_s_pa * up_pa * math.sqrt(T_ANR_K / up_k) * share(down_pa / up_pa, flow.b)


def mass_flow_kg_s(c_m3_s_pa: float, b: float, up_pa: float, down_pa: float, up_k: float) -> float:
    """kg/s from up to down; `up_pa` must be the higher pressure. Plain floats, no checks: for inner loops.

    >>> round(mass_flow_kg_s(1e-8, 0.35, 7e5, 1e5, 293.15), 7)
    0.0083186
    """
    ratio = down_pa / up_pa
    choked = DENSITY_ANR_KG_M3 * c_m3_s_pa * up_pa * math.sqrt(T_ANR_K / up_k)
    if ratio <= b:
        return choked
    if ratio < BETA:
        along = (ratio - b) / (1 - b)
        return choked * math.sqrt(1 - along * along)
    along = (BETA - b) / (1 - b)
    return choked * math.sqrt(1 - along * along) * (1 - ratio) / (1 - BETA)


def mass_flow_between_kg_s(flow: Flow, one_pa: float, one_k: float, other_pa: float, other_k: float) -> float:
    """kg/s from one side to the other, negative when the other side has the higher pressure.

    The temperature that counts is that of the side the air comes from.

    >>> mass_flow_between_kg_s(Flow(1e-8, 0.3), 2e5, 293.15, 6e5, 293.15) < 0
    True
    """
    if one_pa >= other_pa:
        return mass_flow_kg_s(flow.c_m3_s_pa, flow.b, one_pa, other_pa, one_k)
    return -mass_flow_kg_s(flow.c_m3_s_pa, flow.b, other_pa, one_pa, other_k)


def mass_flow_slopes(flow: Flow, up_pa: float, down_pa: float, up_k: float) -> tuple[float, float]:
    """How the mass flow changes with the upper and with the lower pressure, in kg/(s Pa): for implicit solvers.

    K (share - ratio slope) and K slope with K = C rho_ANR sqrt(T_ANR / T_up). The first is never negative, the
    second never positive.

    >>> above, below = mass_flow_slopes(Flow(1e-8, 0.3), 6e5, 1e5, 293.15)
    >>> f"{above:.4e}", below
    ('1.1884e-08', 0.0)
    """
    ratio = down_pa / up_pa
    slope = share_slope(ratio, flow.b)
    scale = DENSITY_ANR_KG_M3 * flow.c_m3_s_pa * math.sqrt(T_ANR_K / up_k)
    return scale * (share(ratio, flow.b) - ratio * slope), scale * slope


def outlet_pa(flow: Flow, up_pa: float, mass_kg_s: float, up_k: float = T_ANR_K) -> float:
    """The pressure left behind a restriction that passes a given mass flow; the pressure drop is up minus it.

    At choked flow it is the highest one, b times the upper pressure. Raises ValueError when the restriction cannot
    pass as much from that pressure.

    >>> kg_s = mass_flow_kg_s(1e-8, 0.3, 7e5, 6e5, 293.15)
    >>> round(outlet_pa(Flow(1e-8, 0.3), 7e5, kg_s), 3)
    600000.0
    """
    choked = mass_flow_kg_s(flow.c_m3_s_pa, flow.b, up_pa, 0.0, up_k)
    if not 0 <= mass_kg_s <= choked:
        raise ValueError(f"{mass_kg_s} kg/s is more than the {choked} kg/s that pass from {up_pa} Pa")
    return up_pa * ratio_for_share(mass_kg_s / choked, flow.b) if choked else up_pa
