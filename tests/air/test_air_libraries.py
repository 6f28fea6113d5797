"""Properties, conversions and closed forms against libraries by others: CoolProp, fluids, pint, SciPy."""

from __future__ import annotations

import math
from itertools import pairwise

import fluids
import pint
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from sequencer.air import convert, gas, tank
from sequencer.air.flow import BETA, Flow, mass_flow_kg_s, share
from sequencer.air.series import share_of_two, two_in_series
from sequencer.air.tube import tube_flow

AIR_VISCOSITY_PA_S = 1.82e-5
UNIT = pint.UnitRegistry()


@pytest.mark.parametrize(("pressure_pa", "kelvin", "expected"), [
    (1e5, 293.15, 1.188817469),  # rho-anr-dry
    (101_325.0, 288.7055556, 1.2231734),  # rho-60f
    (101_325.0, 293.15, 1.2045752),  # rho-68f
])
def test_density_of_dry_air(pressure_pa: float, kelvin: float, expected: float) -> None:
    """Within 0.1 %. Source: CoolProp 8.0, Air, run here; the figures are its own, typed in."""
    assert PropsSI("D", "P", pressure_pa, "T", kelvin, "Air") == pytest.approx(expected, rel=1e-6)
    assert gas.density_kg_m3(pressure_pa, kelvin) == pytest.approx(expected, rel=1e-3)


def test_density_of_humid_reference_air() -> None:
    """rho-anr, A08: 1.18203 at 20 C, 100 kPa, 65 %, within 0.1 %; 0.4 % to the nominal 1.185 of ISO 6358.

    Source: CoolProp 8.0, HAPropsSI: moist volume a kilogram of dry air, and the water in it.
    """
    state = ("T", 293.15, "P", 1e5, "R", 0.65)
    humid = (1 + HAPropsSI("W", *state)) / HAPropsSI("Vda", *state)
    assert humid == pytest.approx(1.1820313, rel=1e-6)
    assert gas.humid_density_kg_m3(1e5, 293.15, 0.65) == pytest.approx(humid, rel=1e-3)
    assert pytest.approx(humid, rel=4e-3) == gas.DENSITY_ANR_NOMINAL_KG_M3
    assert gas.humid_density_kg_m3(1e5, 293.15, 0.0) == gas.density_kg_m3(1e5, 293.15)


def test_a_perfect_gas_is_a_quarter_per_cent_off_at_seven_bar() -> None:
    """A13: Z = 0.99752 at 7 bar, 20 C. Source: CoolProp 8.0."""
    real = PropsSI("Z", "P", 7e5, "T", 293.15, "Air")
    assert real == pytest.approx(0.99752, abs=1e-4)
    ours = gas.density_kg_m3(7e5, 293.15) / PropsSI("D", "P", 7e5, "T", 293.15, "Air")
    assert ours == pytest.approx(0.99752, abs=1e-4)


@given(st.floats(1e5, 11e5), st.floats(273.15, 313.15))
@settings(max_examples=60)
def test_density_stays_within_what_its_text_says(pressure_pa: float, kelvin: float) -> None:
    """0.7 % up to 11 bar, 0 to 40 C. Source: CoolProp 8.0."""
    real = PropsSI("D", "P", pressure_pa, "T", kelvin, "Air")
    assert gas.density_kg_m3(pressure_pa, kelvin) == pytest.approx(real, rel=7e-3)


def test_sound_and_heat_are_those_of_air() -> None:
    """Source: CoolProp 8.0 at 20 C, 1 bar."""
    assert PropsSI("A", "P", 1e5, "T", 293.15, "Air") == pytest.approx(gas.SOUND_M_S, rel=2e-3)
    assert PropsSI("C", "P", 1e5, "T", 293.15, "Air") == pytest.approx(gas.HEAT_CAPACITY_J_KG_K, rel=3e-3)


@given(st.floats(1.5, 12.0))
def test_work_of_compression_is_that_of_fluids(ratio: float) -> None:
    """J a kilogram from J a mole. Source: fluids.compressible, molar mass 28.9647 g (R 287.05)."""
    molar = 8.31446261815324 / gas.GAS_CONSTANT_J_KG_K
    isothermal = fluids.isothermal_work_compression(P1=1e5, P2=ratio * 1e5, T=293.15) / molar
    isentropic = fluids.isentropic_work_compression(T1=293.15, k=1.4, P1=1e5, P2=ratio * 1e5, eta=1.0) / molar
    assert gas.isothermal_work_j_kg(ratio) == pytest.approx(isothermal, rel=1e-9)
    assert gas.isentropic_work_j_kg(ratio) == pytest.approx(isentropic, rel=1e-9)


@given(st.floats(1.05, 1.67))
def test_critical_ratio_is_that_of_fluids(gamma: float) -> None:
    """F07. Source: fluids.compressible.P_critical_flow."""
    assert convert.critical_ratio(gamma) == pytest.approx(fluids.P_critical_flow(1.0, gamma), rel=1e-12)


@given(st.floats(0.01, 50))
def test_kv_and_cv_are_those_of_fluids(cv: float) -> None:
    """kv-of-cv. Source: fluids.Cv_to_Kv and Kv_to_Cv."""
    assert convert.kv_of_cv(cv) == pytest.approx(fluids.Cv_to_Kv(cv), rel=1e-9)
    assert convert.cv_of_kv(cv) == pytest.approx(fluids.Kv_to_Cv(cv), rel=1e-9)


@given(st.floats(0.05, 10), st.floats(2e5, 10e5), st.floats(0.05, 0.98))
@settings(max_examples=60)
def test_flow_of_a_kv_is_sized_back_by_fluids(kv: float, up_pa: float, ratio: float) -> None:
    """F14, within 0.3 %, choked and not. Source: fluids.control_valve.size_control_valve_g (IEC 60534), which takes
    its volume at 0 C and one atmosphere."""
    normal = convert.kv_mass_flow_kg_s(kv, up_pa, ratio * up_pa) / (101_325.0 / (8.31446261815324 / 28.97e-3 * 273.15))
    sized = fluids.size_control_valve_g(T=293.15, MW=28.97, mu=AIR_VISCOSITY_PA_S, gamma=1.4, Z=1.0, P1=up_pa,
                                        P2=ratio * up_pa, Q=normal, xT=0.72)
    assert sized == pytest.approx(kv, rel=3e-3)


@pytest.mark.parametrize(("inner_m", "length_m"), [(0.004, 1), (0.004, 5), (0.006, 1), (0.006, 5), (0.004318, 10)])
def test_a_tube_passes_what_isothermal_friction_allows(inner_m: float, length_m: float) -> None:
    """From 7 to 6.5 bar within 15 %. Source: fluids.isothermal_gas with Clamond's friction factor for a smooth tube,
    1.5 velocity heads for entrance and exit added as length."""
    up, down, mass = 7e5, 6.5e5, 1e-3
    area = math.pi / 4 * inner_m**2
    for _ in range(30):
        friction = fluids.friction_factor(Re=mass * inner_m / (area * AIR_VISCOSITY_PA_S), eD=0.0)
        mass = fluids.isothermal_gas(rho=gas.density_kg_m3((up + down) / 2, 293.15), fd=friction, P1=up, P2=down,
                                     L=length_m + 1.5 * inner_m / friction, D=inner_m)
    tube = tube_flow(inner_m, length_m)
    assert mass_flow_kg_s(tube.c_m3_s_pa, tube.b, up, down, 293.15) == pytest.approx(mass, rel=0.15)


def test_units_are_those_of_pint() -> None:
    """A10 and the factors behind Cv. Source: pint: a cubic foot at 14.696 psi brought to 100 kPa; gallons, psi."""
    foot = (UNIT("1 foot**3") * UNIT("101325 Pa") / UNIT("100 kPa")).to("m**3").magnitude
    assert foot == pytest.approx(gas.SCF_ANR_M3, rel=1e-9)
    kv = UNIT("1 gallon/minute").to("m**3/hour").magnitude * math.sqrt((UNIT("1 bar") / UNIT("1 psi")).to("").magnitude)
    assert kv == pytest.approx(convert.KV_OF_CV, rel=1e-9)
    textbook = (22.7 * UNIT("foot**3/minute/psi") * UNIT("1 degR**0.5")).to("m**3/s/Pa*K**0.5").magnitude * 1.01325
    assert textbook == pytest.approx(convert.CV_TEXTBOOK, rel=1e-9)


FLOWS = st.builds(Flow, st.floats(1e-10, 1e-7), st.floats(0.0, 0.6))
ENDS = st.floats(0.05, 0.99) | st.floats(0.99, 0.9999)
"""Pressure ratios before and on the straight line of the law."""


@given(FLOWS, st.floats(0.01, 0.9), ENDS)
@settings(max_examples=60)
def test_filling_takes_the_integral_of_the_flow(way: Flow, start: float, end: float) -> None:
    """Source: scipy.integrate.quad of w dr / share(r), broken where the law changes."""
    start, end = sorted((start, end))
    spans = _spans(start, end, way.b)
    integral = sum(quad(lambda ratio: 1 / share(ratio, way.b), *span, epsabs=0, epsrel=1e-11)[0] for span in spans)
    ours = tank.fill_s(1e-3, way, 6e5, start * 6e5, end * 6e5)
    assert ours == pytest.approx(1e-3 / (way.c_m3_s_pa * 1e5) * integral, rel=1e-7)


@given(FLOWS, st.floats(0.05, 0.9), ENDS)
@settings(max_examples=60)
def test_emptying_takes_the_integral_of_the_flow(way: Flow, start: float, end: float) -> None:
    """Source: scipy.integrate.quad of w dr / (r share(r)), r = outside / inside, broken where the law changes."""
    start, end = sorted((start, end))
    integral = sum(quad(lambda ratio: 1 / (ratio * share(ratio, way.b)), *span, epsabs=0, epsrel=1e-11)[0]
                   for span in _spans(start, end, way.b))
    ours = tank.empty_s(1e-3, way, 1e5, 1e5 / start, 1e5 / end)
    assert ours == pytest.approx(1e-3 / (way.c_m3_s_pa * 1e5) * integral, rel=1e-7)


@pytest.mark.parametrize("b", [0.0, 0.3, 0.49, 0.5, 0.5 + 1e-10, 0.51, 0.6])
def test_emptying_has_no_gap_where_its_closed_form_changes(b: float) -> None:
    """From 5 to 1.2 bar. Source: scipy.integrate.quad."""
    integral = sum(quad(lambda ratio: 1 / (ratio * share(ratio, b)), *span)[0] for span in _spans(0.2, 1 / 1.2, b))
    assert tank.empty_s(1e-3, Flow(1e-8, b), 1e5, 5e5, 1.2e5) == pytest.approx(integral, rel=1e-6)


def _spans(start: float, end: float, b: float) -> list[tuple[float, float]]:
    corners = [start, *(corner for corner in (b, BETA) if start < corner < end), end]
    return list(pairwise(corners))


def test_an_insulated_vessel_fills_as_its_energy_balance_says() -> None:
    """Time and temperature of a choked fill from 1 to 2 bar. Source: solve_ivp of dm/dt and d(m c_v T)/dt = c_p T_s
    dm/dt, which share no formula with ours."""
    way, supply, volume = Flow(0.5e-8, 0.3), 7e5, 1e-3
    c_v = gas.HEAT_CAPACITY_J_KG_K - gas.GAS_CONSTANT_J_KG_K

    def rates(_: float, state: list[float]) -> list[float]:
        pressure = state[1] / c_v * gas.GAS_CONSTANT_J_KG_K / volume
        flow = mass_flow_kg_s(way.c_m3_s_pa, way.b, supply, pressure, 293.15)
        return [flow, flow * gas.HEAT_CAPACITY_J_KG_K * 293.15]

    def full(_: float, state: list[float]) -> float:
        return state[1] / c_v * gas.GAS_CONSTANT_J_KG_K / volume - 2e5

    full.terminal = True  # type: ignore[attr-defined]
    start = [gas.density_kg_m3(1e5, 293.15) * volume, 1e5 * volume / gas.GAS_CONSTANT_J_KG_K * c_v]
    end = solve_ivp(rates, (0, 1), start, events=full, rtol=1e-10, atol=1e-14)
    assert tank.fill_choked_without_heat_s(volume, way, supply, 1e5, 2e5) == pytest.approx(end.t_events[0][0], rel=1e-7)
    mass, energy = end.y_events[0][0]
    assert tank.temperature_after_fill_k(293.15, 293.15, 1e5, 2e5) == pytest.approx(energy / (mass * c_v), rel=1e-7)


def test_an_insulated_vessel_empties_as_its_energy_balance_says() -> None:
    """Choked, 8 bar, 1 s. Source: solve_ivp of dm/dt and d(m c_v T)/dt = -c_p T dm/dt."""
    way, volume = Flow(0.5e-8, 0.3), 1e-3
    c_v = gas.HEAT_CAPACITY_J_KG_K - gas.GAS_CONSTANT_J_KG_K

    def rates(_: float, state: list[float]) -> list[float]:
        kelvin = state[1] / (state[0] * c_v)
        flow = mass_flow_kg_s(way.c_m3_s_pa, way.b, state[0] * gas.GAS_CONSTANT_J_KG_K * kelvin / volume, 0.0, kelvin)
        return [-flow, -flow * gas.HEAT_CAPACITY_J_KG_K * kelvin]

    mass = gas.density_kg_m3(8e5, 293.15) * volume
    end = solve_ivp(rates, (0, 1), [mass, mass * c_v * 293.15], rtol=1e-10, atol=1e-14).y[:, -1]
    pressure = end[1] / c_v * gas.GAS_CONSTANT_J_KG_K / volume
    assert tank.emptied_choked_without_heat_pa(volume, way, 8e5, 1.0) == pytest.approx(pressure, rel=1e-7)


@given(FLOWS, FLOWS, st.floats(0.01, 0.99))
@settings(max_examples=60)
def test_the_pressure_between_two_is_the_root_of_their_balance(first: Flow, second: Flow, ratio: float) -> None:
    """Source: scipy.optimize.brentq on equal flow through both."""
    def balance(inner: float) -> float:
        return (first.c_m3_s_pa * share(inner, first.b)
                - second.c_m3_s_pa * inner * share(min(ratio / inner, 1.0), second.b))

    inner = brentq(balance, ratio, 1.0, xtol=1e-15, rtol=1e-14)
    theirs = second.c_m3_s_pa * inner * share(min(ratio / inner, 1.0), second.b)
    assert share_of_two(first, second, ratio) == pytest.approx(theirs, rel=1e-6)


@given(FLOWS, FLOWS)
def test_the_closed_form_of_two_in_series_is_what_passes_to_a_vacuum(first: Flow, second: Flow) -> None:
    """Source: scipy.optimize.brentq as above, outlet at nothing."""
    inner = brentq(lambda s: first.c_m3_s_pa * share(s, first.b) - second.c_m3_s_pa * s, 1e-9, 1.0, xtol=1e-15)
    assert two_in_series(first, second).c_m3_s_pa == pytest.approx(second.c_m3_s_pa * inner, rel=1e-8)
