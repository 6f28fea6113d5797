"""Air in a volume: what a stroke takes, what a tank gives, how long it takes to pump up, fill and empty.

Volumes of free air are m3 or litres at ANR (20 C, 100 kPa) unless a reference is given; pressures are absolute
unless the name says gauge. Closed forms: a fixed volume and one restriction, T the temperature of ANR unless said.
The evening's ups and downs of a tank belong to the night.
"""

from __future__ import annotations

import math

from sequencer.air.flow import BETA, Flow, share
from sequencer.air.gas import GAMMA, GAS_CONSTANT_J_KG_K, P_ANR_PA, P_ATMOSPHERE_PA, T_ANR_K


def stroke_air_kg(swept_m3: float, dead_m3: float, supply_pa: float, before_pa: float = P_ATMOSPHERE_PA) -> float:
    """Mass that a settled stroke draws: (p_supply (V_dead + V_swept) - p_before V_dead) / (R T), T = 20 C.

    `dead_m3` is the end of the cylinder and the tube together, at `before_pa` when the valve opens. Exact once the
    pressure has settled (computed: 1e-5), an upper bound where the next command comes earlier.

    >>> round(stroke_air_kg(1e-3, 1e-4, 7e5) * 1000, 3)
    9.03
    """
    drawn = supply_pa * (dead_m3 + swept_m3) - before_pa * dead_m3
    return drawn / (GAS_CONSTANT_J_KG_K * T_ANR_K)


def stroke_air_std_l(swept_m3: float, dead_m3: float, supply_pa: float, before_pa: float = P_ATMOSPHERE_PA) -> float:
    """The same in litres ANR.

    >>> round(stroke_air_std_l(1e-3, 0.0, 701_325.0), 3)
    7.013
    """
    return (supply_pa * (dead_m3 + swept_m3) - before_pa * dead_m3) / P_ANR_PA * 1000


def usable_air_m3(volume_m3: float, from_pa: float, to_pa: float, reference_pa: float = P_ANR_PA) -> float:
    """Free air that a tank gives while it falls from one pressure to another: V (p1 - p2) / p_reference, isothermal.

    Range: slow enough that the tank keeps its temperature; a quick draw cools it and gives only 1 / 1.4 of it at first.
    Source: US DOE / ORNL MEASUR, receiver tank calculator (usable capacity). A difference: both gauge is as good.

    >>> round(usable_air_m3(0.0757, 9.6e5, 7.2e5) * 1000, 1)  # a 20 gal tank from 125 to 90 psi, litres ANR
    181.7
    """
    return volume_m3 * (from_pa - to_pa) / reference_pa


def tank_needed_m3(air_m3: float, from_pa: float, to_pa: float, reference_pa: float = P_ANR_PA) -> float:
    """Tank that gives so much free air between two pressures. What a compressor adds meanwhile is taken off first.

    Raises ValueError unless the first pressure is the higher one.

    >>> round(tank_needed_m3(0.1817, 9.6e5, 7.2e5), 4)
    0.0757
    """
    if not from_pa > to_pa:
        raise ValueError(f"a tank gives nothing from {from_pa} Pa to {to_pa} Pa")
    return air_m3 * reference_pa / (from_pa - to_pa)


def pump_up_s(volume_m3: float, from_pa: float, to_pa: float, delivery_m3_s: float) -> float:
    """Time to pump a tank up at a constant delivery of free air (m3 ANR/s): V (p2 - p1) / (p_ANR Q).

    Real machines deliver less the higher the pressure: 30 % and more off their plate (common practice, no source).
    Raises ValueError unless the delivery is above 0.

    >>> round(pump_up_s(0.0227, 1.0e5, 11.3e5, 1.2e-3))
    195
    """
    if not delivery_m3_s > 0:
        raise ValueError(f"a delivery of {delivery_m3_s} m3/s fills no tank")
    return usable_air_m3(volume_m3, to_pa, from_pa) / delivery_m3_s


def duty(demand_m3_s: float, delivery_m3_s: float) -> float:
    """Share of the time a compressor must run: demand / delivery, in the same reference. Above 1 it never keeps up.

    >>> round(duty(1.5, 2.6), 4)
    0.5769
    """
    return demand_m3_s / delivery_m3_s


def fill_s(volume_m3: float, way: Flow, supply_pa: float, from_pa: float, to_pa: float) -> float:
    """Time to fill a fixed volume at 20 C through one restriction from a constant supply, isothermal.

    With w = V / (C p_ANR) and r = p / p_supply: w dr while choked, then w (1 - b) asin((r - b) / (1 - b)), then along
    the straight line w (1 - beta) / share(beta) ln((1 - beta) / (1 - r)). Exact integral of the law of `flow.share`.
    Raises ValueError unless from_pa <= to_pa < supply_pa: equal pressures are never reached.

    >>> round(fill_s(1e-3, Flow(0.5e-8, 0.3), 7e5, 1e5, 5e5), 5)
    1.20096
    """
    if not (0 <= from_pa <= to_pa < supply_pa and way.c_m3_s_pa > 0):
        raise ValueError(f"{supply_pa} Pa through {way} does not fill from {from_pa} Pa to {to_pa} Pa")
    unit = volume_m3 / (way.c_m3_s_pa * P_ANR_PA)
    start, end, b = from_pa / supply_pa, to_pa / supply_pa, way.b

    def elapsed(ratio: float) -> float:
        choked = min(ratio, b)
        along = (min(max(ratio, b), BETA) - b) / (1 - b)
        near = math.log((1 - BETA) / (1 - max(ratio, BETA)))
        return choked + (1 - b) * math.asin(along) + (1 - BETA) / share(BETA, b) * near

    return unit * (elapsed(end) - elapsed(start))


def fill_choked_without_heat_s(volume_m3: float, way: Flow, supply_pa: float, from_pa: float, to_pa: float) -> float:
    """Time to fill a volume that takes no heat from the air (a quick fill): the isothermal one through 1.4.

    V (p2 - p1) / (gamma C p_ANR p_supply). Energy balance of an insulated vessel. Raises ValueError unless it is
    choked all the way (to_pa <= b p_supply).

    >>> round(fill_choked_without_heat_s(1e-3, Flow(0.5e-8, 0.3), 7e5, 1e5, 2.1e5), 5)
    0.22449
    """
    if not 0 <= from_pa <= to_pa <= way.b * supply_pa:
        raise ValueError(f"filling from {from_pa} Pa to {to_pa} Pa is not choked all the way")
    return volume_m3 * (to_pa - from_pa) / (GAMMA * way.c_m3_s_pa * P_ANR_PA * supply_pa)


def temperature_after_fill_k(supply_k: float, start_k: float, from_pa: float, to_pa: float) -> float:
    """Temperature in a volume filled without heat loss: T = p2 / (p1 / T1 + (p2 - p1) / (gamma T_supply)).

    From empty it is gamma times the supply's, whatever the pressure. Energy balance of an insulated vessel.

    >>> round(temperature_after_fill_k(293.15, 293.15, 0.0, 5e5), 2)
    410.41
    """
    return to_pa / (from_pa / start_k + (to_pa - from_pa) / (GAMMA * supply_k))


def empty_s(volume_m3: float, way: Flow, outside_pa: float, from_pa: float, to_pa: float) -> float:
    """Time for a fixed volume at 20 C to empty through one restriction, isothermal.

    With w = V / (C p_ANR) and r = p_outside / p: dt = w dr / (r share(r)), integrated exactly over choked, ellipse
    and straight line. Raises ValueError unless outside_pa < to_pa <= from_pa.

    >>> round(empty_s(1e-3, Flow(0.5e-8, 0.3), 1e5, 8e5, 3.3775e5), 5)
    1.72461
    """
    if not (0 < outside_pa < to_pa <= from_pa and way.c_m3_s_pa > 0):
        raise ValueError(f"{way} does not empty from {from_pa} Pa to {to_pa} Pa against {outside_pa} Pa")
    start, end, b = outside_pa / from_pa, outside_pa / to_pa, way.b
    spent = math.log(max(min(end, b), start) / start) if b > start else 0.0
    low, high = min(max(start, b), BETA), min(max(end, b), BETA)
    if high > low:
        spent += _ellipse_integral(high, b) - _ellipse_integral(low, b)
    low, high = max(start, BETA), max(end, BETA)
    spent += (1 - BETA) / share(BETA, b) * math.log(high / (1 - high) * (1 - low) / low)
    return volume_m3 / (way.c_m3_s_pa * P_ANR_PA) * spent


def emptied_choked_without_heat_pa(volume_m3: float, way: Flow, from_pa: float, after_s: float) -> float:
    """Pressure in an insulated volume at 20 C after it has emptied through a choked restriction for some time.

    p = p1 (1 + (k - 1)/2 t C p_ANR / V)^(-2k/(k - 1)): isentropic in the vessel. Range: while outside / p <= b.

    >>> round(emptied_choked_without_heat_pa(1e-3, Flow(0.5e-8, 0.3), 8e5, 1.0) / 1e5, 5)
    4.10526
    """
    turns = after_s * way.c_m3_s_pa * P_ANR_PA / volume_m3
    return from_pa * (1 + (GAMMA - 1) / 2 * turns) ** (-2 * GAMMA / (GAMMA - 1))


def _ellipse_integral(ratio: float, b: float) -> float:
    """Integral of dr / (r sqrt(1 - ((r - b)/(1 - b))^2)) up to a constant, for b <= r < 1.

    r = b + (1 - b) sin(x) makes it (1 - b) dx / (b + (1 - b) sin x), a standard integral in tan(x / 2). For b below
    0.5 the usual difference of nearly equal terms is written as a quotient, so that b = 0 is no special case.
    """
    rise = 1 - b
    half = math.tan(math.asin((ratio - b) / rise) / 2)
    difference = rise * rise - b * b
    if abs(difference) < 1e-9:
        return -2 / (1 + half)
    root = math.sqrt(abs(difference))
    if difference > 0:
        return rise / root * math.log((half + b / (rise + root)) / (b * half + rise + root))
    return 2 * rise / root * math.atan((b * half + rise) / root)
