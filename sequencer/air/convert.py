"""The other figures that a part's flow is sold by (Cv, Kv, effective area, bore of a hole) <-> sonic conductance C.

None of these is the same measurement as C and b. Cv and Kv are measured with water or at a small pressure drop and
say nothing about choking, so a C made of them hangs on a b that one must suppose; the printed C and Cv of one family
of valves differ from any fixed ratio by up to 15 %. Give C and b where they are printed.

Conductances in m3/(s Pa) at ANR; 1 dm3/(s bar) is 1e-8. Pressures absolute.
"""

from __future__ import annotations

import math

from sequencer.air.flow import Flow, free_flow_m3_s
from sequencer.air.gas import DENSITY_ANR_KG_M3, GAMMA, GAS_CONSTANT_J_KG_K, P_ANR_PA, SCF_ANR_M3, T_ANR_K
from sequencer.frozen import frozen
from sequencer.units import UNITS

CV_STANDARD = 114.5e-3 / 1e5
"""m3/s of free air = this x Cv sqrt(dp p2 / T1), SI: ANSI/(NFPA) T3.21.3 prints 114.5 dm3/s with bar and K (read in
the flow data pages of the SMC VX catalogue)."""
CV_TEXTBOOK = 22.7 * SCF_ANR_M3 / 60 / float(UNITS["psi"].factor) * math.sqrt(5 / 9)
"""The same with the 22.7 scfm, psi and degrees Rankine of Esposito, Fluid Power with Applications, chapter 13: 2.5 %
above the standard, half of it because a scf holds 1.3 % more air than a cubic foot ANR."""
KV_OF_CV = float(UNITS["gal"].factor) * 60 * math.sqrt(1e5 / float(UNITS["psi"].factor))
"""m3/h at 1 bar of one gallon a minute at 1 psi: 0.86498, IEC 60534-2-1 (its table rounds to 0.865)."""
CRITICAL_CV = 0.53
"""Pressure ratio at which the Cv formulas stop to grow (Esposito, example 13-10); the ideal nozzle has 0.528."""
IEC_N8 = 110.0
"""kg/h = 110 Kv p1[bar] Y sqrt(x M / T): IEC 60534-2-1, table of numerical constants (from memory; within 0.3 % of
fluids 1.3.1). With Cv in place of Kv it is 94.8."""
MOLAR_KG_KMOL = 28.97
"""Molar mass of dry air (ISO 2533: 28.9644)."""
LOWEST_C_OF_CV, HIGHEST_C_OF_CV = 3.11e-8, 4.00e-8
"""C for a Cv of 1 as one family of valves prints both: size 5000 C 2.8, Cv 0.9; size 9000 C 10, Cv 2.5, in
dm3/(s bar) (SMC SY catalogue EUS11-83B-UK)."""
SHARP_EDGE = 1.25e-3
"""C of a sharp-edged hole over its diameter squared, SI: C = 0.125 d^2 with mm and dm3/(s bar), after Gidlund (read
on a tool's page for a non-return valve; others have 0.128, from memory)."""


@frozen
class ConductanceRange:
    """C in m3/(s Pa) when only a Cv is known: where it may lie, and what to reckon with."""

    low: float
    likely: float
    high: float


def critical_ratio(gamma: float = GAMMA) -> float:
    """Pressure ratio at which an ideal nozzle chokes: (2 / (k + 1))^(k / (k - 1)). Real valves have b 0.2 to 0.5.

    Agrees with fluids.compressible.P_critical_flow.

    >>> round(critical_ratio(), 7)
    0.5282818
    """
    return (2 / (gamma + 1)) ** (gamma / (gamma - 1))


def choked_nozzle_constant(gamma: float = GAMMA, gas_constant: float = GAS_CONSTANT_J_KG_K) -> float:
    """Choked flow of an ideal nozzle, kg/s = this x area x p_up / sqrt(T_up): sqrt(k / R (2/(k+1))^((k+1)/(k-1))).

    Source: isentropic flow; printed as 0.040418 by Richer and Hurmuzlu, J. Dyn. Sys. Meas. Control 122(3), 2000.

    >>> round(choked_nozzle_constant(), 5)
    0.04041
    """
    return math.sqrt(gamma / gas_constant * (2 / (gamma + 1)) ** ((gamma + 1) / (gamma - 1)))


def subsonic_nozzle_constant(gamma: float = GAMMA, gas_constant: float = GAS_CONSTANT_J_KG_K) -> float:
    """Flow of an ideal nozzle that does not choke: sqrt(2 k / (R (k - 1))). Printed as 0.156174 by the same.

    kg/s = this x area x p_up / sqrt(T_up) x sqrt(r^(2/k) - r^((k+1)/k)), r the pressure ratio.

    >>> round(subsonic_nozzle_constant(), 5)
    0.15616
    """
    return math.sqrt(2 * gamma / (gas_constant * (gamma - 1)))


def nozzle_mass_flow_kg_s(area_m2: float, up_pa: float, down_pa: float, up_k: float = T_ANR_K) -> float:
    """kg/s through an ideal nozzle of an effective area (discharge coefficient included), choked and not.

    Range: `up_pa` the higher one. Within 0.3 % of `flow.share` at b = 0.528 below ratio 0.99 (measured).

    >>> round(nozzle_mass_flow_kg_s(5.034e-6, 7e5, 1e5), 6)
    0.008318
    """
    ratio = down_pa / up_pa
    scale = area_m2 * up_pa / math.sqrt(up_k)
    if ratio <= critical_ratio():
        return scale * choked_nozzle_constant()
    shape = ratio ** (2 / GAMMA) - ratio ** ((GAMMA + 1) / GAMMA)
    return scale * subsonic_nozzle_constant() * math.sqrt(max(shape, 0.0))


def conductance_of_area(area_m2: float) -> float:
    """C of an effective area, choked: C = A x nozzle constant / (rho_ANR sqrt(T_ANR)). S in mm2 is 5.0 C in
    dm3/(s bar), as JIS B 8390 has it (from memory).

    >>> f"{conductance_of_area(1e-6):.3e}"
    '1.986e-09'
    """
    return area_m2 * choked_nozzle_constant() / (DENSITY_ANR_KG_M3 * math.sqrt(T_ANR_K))


def area_of_conductance(c_m3_s_pa: float) -> float:
    """Effective area in m2 of a C: inverse of `conductance_of_area`.

    >>> round(area_of_conductance(1e-8) * 1e6, 3)
    5.034
    """
    return c_m3_s_pa / conductance_of_area(1.0)


def conductance_of_hole(diameter_m: float) -> float:
    """C of a sharp-edged round hole: 0.125 d^2 with d in mm and C in dm3/(s bar); 3 % between the sources.

    >>> f"{conductance_of_hole(0.002):.2e}"
    '5.00e-09'
    """
    return SHARP_EDGE * diameter_m**2


def kv_of_cv(cv: float) -> float:
    """Kv (m3/h of water at 1 bar) of a Cv (US gallons a minute at 1 psi).

    >>> round(kv_of_cv(1.0), 6)
    0.864978
    """
    return cv * KV_OF_CV


def cv_of_kv(kv: float) -> float:
    """Cv of a Kv.

    >>> round(cv_of_kv(1.0), 5)
    1.1561
    """
    return kv / KV_OF_CV


def conductance_of_cv(cv: float, b: float) -> float:
    """C that passes at a small pressure drop what the Cv formula gives: 6.69e-8 Cv sqrt((1 - b) / 2).

    3.96 dm3/(s bar) for a Cv of 1 at b = 0.3, 3.34 at 0.5. Derived here: 114.5 / sqrt(293.15) = 6.69 and share ->
    sqrt(2 (1 - r) / (1 - b)). At larger drops the result leans on b: against MEASUR's 0.6875 Cv sqrt(p1^2 - p2^2),
    which is this law with b = 0, ratio 0.7 gives -0.8 % with b = 0, -5 % with 0.3, -10 % with 0.5 (measured).
    A rule "Cv = 1.62 C" is in circulation and is wrong by about 6 times.

    >>> f"{conductance_of_cv(1.0, 0.3):.3e}"
    '3.956e-08'
    """
    return cv * CV_STANDARD / math.sqrt(T_ANR_K) * math.sqrt((1 - b) / 2)


def cv_of_conductance(flow: Flow) -> float:
    """Cv that a (C, b) amounts to at a small pressure drop: inverse of `conductance_of_cv`.

    Printed values lie up to 20 % off: 0.75 for a valve of C 2.8, b 0.37 that prints 0.9.

    >>> round(cv_of_conductance(Flow(2.8e-8, 0.37)), 2)
    0.75
    """
    return flow.c_m3_s_pa / conductance_of_cv(1.0, flow.b)


NOMINAL_PA = (7.01325e5, 6.01325e5)
"""Between which absolute pressures a nominal flow is taken: 6 and 5 bar gauge (common practice, no source)."""


def conductance_of_nominal(free_m3_s: float, b: float) -> float:
    """C of a part that passes so much free air (m3 ANR/s) from 6 bar to 5 bar gauge: C = Q / (p1 f(p2 / p1)).

    >>> round(conductance_of_nominal(1000 / 60_000, 0.35) * 1e8, 3)  # 1000 l/min
    3.802
    """
    up, down = NOMINAL_PA
    return free_m3_s / free_flow_m3_s(Flow(1.0, b), up, down)


def conductance_if_only_cv_known(cv: float) -> ConductanceRange:
    """What C may be when nothing but Cv is printed: 3.11 to 4.00 dm3/(s bar) for a Cv of 1, likely between (3.53).

    The bounds are printed pairs of one family of valves, the likely one their geometric mean: 13 % either way.

    >>> only = conductance_if_only_cv_known(0.33)
    >>> f"{only.low:.3e} {only.likely:.3e} {only.high:.3e}"
    '1.026e-08 1.164e-08 1.320e-08'
    """
    low, high = cv * LOWEST_C_OF_CV, cv * HIGHEST_C_OF_CV
    return ConductanceRange(low, math.sqrt(low * high), high)


def cv_free_flow_m3_s(
    cv: float, up_pa: float, down_pa: float, up_k: float = T_ANR_K, constant: float = CV_STANDARD
) -> float:
    """Free air by the handbook formula for Cv: constant x Cv sqrt((p1 - p2) p2 / T1), p2 not below 0.53 p1.

    m3 ANR a second; the standard's litres are taken as litres ANR (at one atmosphere they would be 1.3 % more air).
    For figures printed in Cv only; the motion is reckoned with C and b. Range: `up_pa` the higher one.

    >>> round(cv_free_flow_m3_s(1.0, 6.5e5, 6.4e5, 297.0) * 1000, 4)
    5.3152
    """
    down = max(down_pa, CRITICAL_CV * up_pa)
    return constant * cv * math.sqrt((up_pa - down) * down / up_k)


def cv_needed(
    free_m3_s: float, up_pa: float, down_pa: float, up_k: float = T_ANR_K, constant: float = CV_STANDARD
) -> float:
    """Cv that passes so much free air (m3 ANR/s) between two pressures, by the same formula.

    >>> round(cv_needed(5.3151711e-3, 6.5e5, 6.4e5, 297.0), 6)
    1.0
    """
    return free_m3_s / cv_free_flow_m3_s(1.0, up_pa, down_pa, up_k, constant)


def kv_mass_flow_kg_s(
    kv: float, up_pa: float, down_pa: float, up_k: float = T_ANR_K, choke_drop: float = 0.72
) -> float:
    """kg/s of air by the valve equation of industry, which Kv is meant for: 110 Kv p1[bar] Y sqrt(x M / T) kg/h.

    x = dp / p1 up to `choke_drop` (x_T) times k/1.4, Y = 1 - x / (3 x_T k/1.4). Source: IEC 60534-2-1, turbulent
    flow, no fittings. Range: `up_pa` the higher one; x_T 0.72 is a globe valve, from memory.

    >>> round(kv_mass_flow_kg_s(kv_of_cv(1.0), 7e5, 6e5), 4)
    0.0205
    """
    limit = choke_drop * GAMMA / 1.4
    drop = min(1 - down_pa / up_pa, limit)
    expansion = 1 - drop / (3 * limit)
    return IEC_N8 / 3600 * kv * up_pa / P_ANR_PA * expansion * math.sqrt(drop * MOLAR_KG_KMOL / up_k)
