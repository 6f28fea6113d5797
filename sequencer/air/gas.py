"""Air as a gas: its constants, its density, and one amount of air told as kilograms, standard litres or scf.

SI, absolute pressures. Two references of "free air" stand here and no others: ANR (20 C, 100 kPa), in which all flow
is reckoned, and the scf of the unit table (20 C, one standard atmosphere), in which compressors are sold.
What restricts the flow is not known here.
"""

from __future__ import annotations

import math

from sequencer.frozen import frozen
from sequencer.units import UNITS

GAS_CONSTANT_J_KG_K = 287.05
"""R of dry air, ISO 2533 gives 287.05287. Air at 20 C and 65 % humidity has 0.6 % more."""
GAMMA = 1.4
"""Ratio of the specific heats of dry air; the real gas at 20 C has 1.402 at 1 bar, 1.413 at 7 bar (CoolProp 8.0)."""
HEAT_CAPACITY_J_KG_K = GAMMA * GAS_CONSTANT_J_KG_K / (GAMMA - 1)
"""c_p of a perfect gas with these R and gamma: 1004.7."""
P_ANR_PA = 1.0e5
T_ANR_K = 293.15
"""Reference of free air (ANR): 100 kPa, 20 C, as in ISO 8778 and ISO 6358; the 65 % humidity they add is left out."""
DENSITY_ANR_KG_M3 = P_ANR_PA / (GAS_CONSTANT_J_KG_K * T_ANR_K)
"""1.1884, dry. A wrong reference density changes kilograms, never litres or times."""
DENSITY_ANR_NOMINAL_KG_M3 = 1.185
"""Rounded density at 65 % humidity that ISO 6358 prints; only for figures printed in kg/s by that standard."""
P_ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere (ISO 2533). 1 % off (a hill of 80 m) moves a travel time by less than 1 %."""
GRAVITY_M_S2 = 9.80665
"""Standard gravity (ISO 80000-3)."""
SOUND_M_S = 343.0
"""Speed of sound at 20 C: sqrt(gamma R T) = 343.2."""
WATER_VAPOUR_J_KG_K = 461.5
"""R of water vapour, from memory (8.314 / 0.018015)."""
SCF_ANR_M3 = float(UNITS["scfm"].factor) * 60
"""One standard cubic foot as m3 ANR, from the unit table: 68 F and 14.696 psia. 60 F would make it 1.5 % more air."""
NORMAL_LITRE_PA, NORMAL_LITRE_K = 101_325.0, 273.15
"""Reference of the normal litre (0 C, one atmosphere; DIN 1343, from memory), which is not the litre ANR."""


@frozen
class AirState:
    """Pressure (absolute) and temperature of some air."""

    pressure_pa: float
    temperature_k: float


ANR = AirState(P_ANR_PA, T_ANR_K)
NORMAL = AirState(NORMAL_LITRE_PA, NORMAL_LITRE_K)


def absolute_pa(pressure_pa_gauge: float, ambient_pa: float = P_ATMOSPHERE_PA) -> float:
    """Absolute pressure of what a gauge shows. Raises ValueError for a gauge reading below a perfect vacuum.

    >>> absolute_pa(6e5)
    701325.0
    """
    pressure = pressure_pa_gauge + ambient_pa
    if not pressure >= 0:
        raise ValueError(f"{pressure_pa_gauge} Pa on the gauge is below a perfect vacuum")
    return pressure


def density_kg_m3(pressure_pa: float, temperature_k: float) -> float:
    """Density of dry air as a perfect gas: pressure / (R T).

    Range: within 0.7 % of the real gas up to 11 bar at 0 to 40 C, 0.25 % at 7 bar and 20 C (CoolProp 8.0).

    >>> round(density_kg_m3(1e5, 293.15), 4)
    1.1884
    """
    return pressure_pa / (GAS_CONSTANT_J_KG_K * temperature_k)


def humid_density_kg_m3(pressure_pa: float, temperature_k: float, humidity: float) -> float:
    """Density of damp air: dry air and vapour, each as a perfect gas at its part of the pressure; humidity 0 to 1.

    Saturation pressure by the Magnus formula over water, 611.2 Pa exp(17.62 t / (243.12 + t)), t in C from -45 to
    60 (WMO No. 8, annex 4.B, from memory).

    >>> round(humid_density_kg_m3(1e5, 293.15, 0.65), 3)
    1.182
    """
    celsius = temperature_k - 273.15
    vapour_pa = humidity * 611.2 * math.exp(17.62 * celsius / (243.12 + celsius))
    dry = density_kg_m3(pressure_pa - vapour_pa, temperature_k)
    return dry + vapour_pa / (WATER_VAPOUR_J_KG_K * temperature_k)


def volume_at(volume_m3: float, here: AirState, there: AirState) -> float:
    """The volume that the same air fills at another pressure and temperature: V (p / p') (T' / T), perfect gas.

    A compression ratio is the volume at ambient of one at pressure; free air is the volume at a reference.

    >>> round(volume_at(1.0, NORMAL, ANR), 5)
    1.08744
    """
    return volume_m3 * here.pressure_pa / there.pressure_pa * there.temperature_k / here.temperature_k


def std_l_of_kg(mass_kg: float) -> float:
    """Litres ANR (20 C, 100 kPa, dry) of a mass of air.

    >>> round(std_l_of_kg(0.001), 4)
    0.8415
    """
    return mass_kg / DENSITY_ANR_KG_M3 * 1000


def kg_of_std_l(volume_std_l: float) -> float:
    """Mass of a number of litres ANR (20 C, 100 kPa, dry).

    >>> round(kg_of_std_l(1.0) * 1000, 4)
    1.1884
    """
    return volume_std_l * DENSITY_ANR_KG_M3 / 1000


def scf_of_std_l(volume_std_l: float) -> float:
    """Standard cubic feet (68 F, 14.696 psia) of a number of litres ANR.

    >>> round(scf_of_std_l(28.7), 3)
    1.0
    """
    return volume_std_l / 1000 / SCF_ANR_M3


def std_l_of_scf(volume_scf: float) -> float:
    """Litres ANR of a number of standard cubic feet (68 F, 14.696 psia).

    >>> round(std_l_of_scf(1.0), 2)
    28.69
    """
    return volume_scf * SCF_ANR_M3 * 1000


def isothermal_work_j_kg(ratio: float, temperature_k: float = T_ANR_K) -> float:
    """Least work that compresses a kilogram of air, cooled all the way: R T ln(p2 / p1). No machine needs less.

    Source: thermodynamics of the perfect gas, agrees with fluids.compressible.isothermal_work_compression.

    >>> round(isothermal_work_j_kg(7.0))
    163746
    """
    return GAS_CONSTANT_J_KG_K * temperature_k * math.log(ratio)


def isentropic_work_j_kg(ratio: float, temperature_k: float = T_ANR_K) -> float:
    """Work that compresses a kilogram of air in one go, uncooled and without loss: c_p T ((p2 / p1)^((k-1)/k) - 1).

    A single-stage compressor said to give more air for its shaft power than this allows is not rated as said.
    Source: thermodynamics of the perfect gas, agrees with fluids.compressible.isentropic_work_compression.

    >>> round(isentropic_work_j_kg(7.0))
    219017
    """
    return HEAT_CAPACITY_J_KG_K * temperature_k * (ratio ** ((GAMMA - 1) / GAMMA) - 1)
