"""Formulas of flow and air use against printed values and against models of others; each names its source."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air import formulas as air

INCH = 0.0254
PSI = 6894.757
SCF_M3 = INCH**3 * 1728


def area(bore_m: float, rod_m: float = 0.0) -> float:
    return math.pi / 4 * (bore_m**2 - rod_m**2)


def free_air_at_ambient(swept_m3: float, gauge_pa: float, ambient_pa: float) -> float:
    """Cubic metres at the ambient pressure, as handbooks count it: the swept volume times the compression ratio."""
    return air.free_air_of_filling_m3(swept_m3, 0.0, gauge_pa, ambient_pa) * air.P_ANR_PA / ambient_pa


def test_worked_example_of_a_double_acting_cylinder() -> None:
    """2 in bore, 4 in stroke, 30 cycles a minute at 80 psi, rod ignored: 2.81 scfm.

    Source: a worked example on the page of frequent questions of a maker of cylinders, read in two copies.
    """
    swept = 2 * area(2 * INCH) * 4 * INCH * 30
    assert free_air_at_ambient(swept, 80 * PSI, 14.7 * PSI) / SCF_M3 == pytest.approx(2.81, rel=0.005)


@pytest.mark.parametrize(("bore", "stroke", "rod", "expected"),
                         [(1.5, 6, None, 2.8711575255), (3.5, 6, None, 15.6318576389), (1.5, 9, 0.375, 8.3443015585)])
def test_air_requirement_of_the_measur_suite(bore: float, stroke: float, rod: float | None, expected: float) -> None:
    """100 psi, 60 cycles a minute. Source: unit tests of the AMO-Tools-Suite (US DOE, Oak Ridge), CompressedAir;
    it takes 0.785 for pi/4, which is 0.05 % less."""
    swept = area(bore * INCH) * stroke * INCH * 60
    if rod is not None:
        swept += area(bore * INCH, rod * INCH) * stroke * INCH * 60
    assert free_air_at_ambient(swept, 100 * PSI, 14.7 * PSI) / SCF_M3 == pytest.approx(expected, rel=0.001)


def test_compression_ratio_of_the_measur_suite() -> None:
    """100 psi: 7.8027210884. Source: unit tests of the AMO-Tools-Suite (US DOE, Oak Ridge)."""
    assert free_air_at_ambient(1.0, 100 * PSI, 14.7 * PSI) == pytest.approx(7.8027210884, rel=1e-6)


def test_textbook_consumption_with_temperature() -> None:
    """1.75 in bore, 6 in stroke, 30 strokes a minute, 100 psi, 80 F brought to 68 F: 1.91 scfm.

    Source: Esposito, Fluid Power with Applications, example 13-12, in the FOSSEE companion 788, chapter 13.
    """
    swept = area(1.75 * INCH) * 6 * INCH * 30
    hot = free_air_at_ambient(swept, 100 * PSI, 14.7 * PSI) / SCF_M3
    assert hot * (68 + 460) / (80 + 460) == pytest.approx(1.91, rel=0.005)


def test_litres_a_cycle_with_the_tubes() -> None:
    """32/12 mm, 200 mm, 6 bar, tubes of 4 mm by 2 m at either end: 2.0975 and 0.3016 litres more, ANR.

    Source: closed form of the ideal gas; the tubes fall to atmosphere at each stroke, so only gauge pressure counts.
    """
    cap, ring = area(0.032) * 0.2, area(0.032, 0.012) * 0.2
    tube = area(0.004) * 2
    bare = air.free_air_of_filling_m3(cap, 0, 6e5) + air.free_air_of_filling_m3(ring, 0, 6e5)
    whole = air.free_air_of_filling_m3(cap, tube, 6e5) + air.free_air_of_filling_m3(ring, tube, 6e5)
    assert bare * 1000 == pytest.approx(2.0975, rel=0.001)
    assert (whole - bare) * 1000 == pytest.approx(0.3016, rel=0.001)


@pytest.mark.parametrize(("conductance", "two_chamber_model"), [(0.1e-8, 0.14469), (0.3e-8, 0.43464)])
def test_choked_speed_against_a_model_of_both_chambers(conductance: float, two_chamber_model: float) -> None:
    """32/12 mm cylinder at 6 bar with 2 kg and 25 N of friction, at 80 % of its stroke, in m/s.

    Source: integration of the two-chamber equations, a model of its own; that the speed does not hang on the load
    is also the stated result of "Dynamics of Pneumatic Cylinder Systems" (JFPS, abstract).
    """
    assert air.speed_metered_out(conductance, area(0.032, 0.012)) == pytest.approx(two_chamber_model, rel=0.005)


def test_two_alike_in_series() -> None:
    """Two equal restrictions pass 2^(-1/3) of one. Source: the formula's own closed form."""
    assert air.conductance_in_series([3e-8, 3e-8]) == pytest.approx(3e-8 * 2 ** (-1 / 3))


@given(st.lists(st.floats(1e-10, 1e-6), min_size=1, max_size=5))
def test_nothing_in_series_passes_more_than_its_narrowest(parts: list[float]) -> None:
    assert air.conductance_in_series(parts) <= min(parts) * (1 + 1e-9)


@given(st.floats(0.002, 0.02), st.floats(0.1, 30))
def test_a_longer_or_narrower_tube_passes_less(inner: float, length: float) -> None:
    here = air.tube_conductance(inner, length)
    assert air.tube_conductance(inner, length * 1.1) < here < air.tube_conductance(inner * 1.1, length)


@given(st.floats(1.1e5, 9e5), st.floats(0.02, 0.98), st.floats(0.05, 0.6))
def test_speed_in_falls_with_what_must_be_held_and_ends_at_nothing(supply: float, share: float, b: float) -> None:
    speed = air.speed_metered_in(1e-8, 1e-3, supply, supply * share, b)
    assert speed > air.speed_metered_in(1e-8, 1e-3, supply, supply * (share + 0.019), b) >= 0
    assert air.speed_metered_in(1e-8, 1e-3, supply, supply, b) == 0


def test_speed_in_is_smooth_where_the_flow_chokes() -> None:
    below, above = (air.speed_metered_in(1e-8, 1e-3, 6e5, 6e5 * (0.3 + eps), 0.3) for eps in (-1e-6, 1e-6))
    assert below == pytest.approx(above, rel=1e-4)


@pytest.mark.parametrize(("inner", "length", "fanno"),
                         [(0.004, 1, 1.3079e-8), (0.004, 5, 0.7007e-8), (0.006, 1, 3.3568e-8), (0.0025, 1, 0.4231e-8)])
def test_tubes_against_friction_in_a_choked_duct(inner: float, length: float, fanno: float) -> None:
    """Within 12 %. Source: adiabatic flow with friction (Fanno) in a smooth tube, computed from first principles."""
    assert air.tube_conductance(inner, length) == pytest.approx(fanno, rel=0.12)


@pytest.mark.parametrize(("one", "other", "exact"), [(1.0, 1.0, 0.7572), (2.8, 1.1964, 1.1321), (1.1, 3.135, 1.0949)])
def test_series_against_the_exact_pressure_between(one: float, other: float, exact: float) -> None:
    """Within 6 %. Source: the principle of ISO 6358-3, solved for the pressure between the two restrictions."""
    assert air.conductance_in_series([one * 1e-8, other * 1e-8]) == pytest.approx(exact * 1e-8, rel=0.06)


def test_flow_below_choking_against_a_printed_example() -> None:
    """C 2 dm3/(s bar), b 0.3, from 0.5 to 0.4 MPa absolute: 420 of at most 600 litres a minute.

    Source: a worked example printed with a maker's flow data (ISO 6358:1989); 420 is read off a graph, so 2 %.
    """
    speed = air.speed_metered_in(2e-8, 1e-3, 5e5, 4e5, 0.3)
    choked = air.speed_metered_in(2e-8, 1e-3, 5e5, 1.5e5 - 1, 0.3)
    litres_at_supply = speed * 4e5 / (choked * 1.5e5) * 600
    assert litres_at_supply == pytest.approx(420, rel=0.02)


def test_metered_out_speed_under_load() -> None:
    """The cylinder above with exhaust 0.2 dm3/(s bar) against 150 N: 0.2893 m/s, the same as without load.

    Source: integration of the two-chamber equations, a model of its own.
    """
    assert air.speed_metered_out(0.2e-8, area(0.032, 0.012)) == pytest.approx(0.2893, rel=0.005)
