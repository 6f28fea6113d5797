"""Laws of forces, of air used and of filling and emptying."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air import force, tank
from sequencer.air.flow import Flow
from sequencer.air.force import Piston

PISTONS = st.builds(lambda bore, part: Piston(bore, bore * part), st.floats(0.006, 0.2), st.floats(0, 0.9))
WAY = Flow(0.5e-8, 0.3)


@pytest.mark.parametrize(("bore", "rod"), [(0, 0), (0.032, 0.032), (0.012, 0.032), (0.032, -0.001), (math.nan, 0),
                                           (0.032, math.nan), (math.inf, 0.01)])
def test_what_is_no_piston_is_refused(bore: float, rod: float) -> None:
    with pytest.raises(ValueError, match="does not go into"):
        Piston(bore, rod)


@given(PISTONS, st.floats(1e5, 1e6))
def test_equal_pressures_push_a_rod_out_by_its_own_area(piston: Piston, pressure: float) -> None:
    rod_area = math.pi / 4 * piston.rod_m**2
    expected = (pressure - 101_325.0) * rod_area
    scale = pressure * force.cap_area_m2(piston)
    assert force.net_force_n(piston, pressure, pressure) == pytest.approx(expected, abs=1e-9 * scale)


@given(PISTONS, st.floats(1, 1000), st.floats(0.2, 1))
def test_at_the_least_pressure_the_load_is_its_share_of_the_force(piston: Piston, load: float, ratio: float) -> None:
    area = force.cap_area_m2(piston)
    pushed = force.theoretical_force_n(area, force.least_pressure_pa_gauge(area, load, ratio))
    assert force.force_margin(pushed, load) == pytest.approx(1 - ratio)


def test_a_load_beyond_the_force_has_a_negative_margin_and_no_force_none() -> None:
    assert force.force_margin(100, 101) < 0 < force.force_margin(100, 99)
    with pytest.raises(ValueError, match="margin"):
        force.force_margin(0, 10)


def test_a_weight_hanging_down_helps_the_rod_out() -> None:
    assert force.weight_along_n(4, math.pi / 2) == pytest.approx(39.2266)  # 4 kg at standard gravity, ISO 80000-3
    assert force.weight_along_n(4, -math.pi / 2) < 0 == force.weight_along_n(4, 0.0)


def test_end_energy_grows_with_the_square_of_the_speed() -> None:
    assert force.end_energy_j(3, 1.0) == pytest.approx(4 * force.end_energy_j(3, 0.5)) == 1.5


def test_a_rod_buckles_sixteen_times_later_at_double_width_and_four_times_sooner_at_double_length() -> None:
    """Euler: 2,110 N for 12 mm, 500 mm free, K = 2: pi^2 210 GPa (pi 12^4 / 64 = 1017.9 mm4) / (1 m)^2."""
    load = force.buckling_load_n(0.012, 0.5)
    assert load == pytest.approx(math.pi**2 * 210e9 * 1017.876e-12, rel=1e-5)
    assert force.buckling_load_n(0.024, 0.5) == pytest.approx(16 * load)
    assert force.buckling_load_n(0.012, 1.0) == pytest.approx(load / 4)


@given(st.floats(1.1e5, 9e5), st.floats(0.02, 0.97), st.floats(0.05, 0.6))
def test_speed_in_falls_with_what_must_be_held_and_ends_at_nothing(supply: float, part: float, b: float) -> None:
    way = Flow(1e-8, b)
    speed = force.speed_metered_in_m_s(way, 1e-3, supply, supply * part)
    assert speed > force.speed_metered_in_m_s(way, 1e-3, supply, supply * (part + 0.02)) >= 0
    assert force.speed_metered_in_m_s(way, 1e-3, supply, supply) == 0


@given(st.floats(1e-5, 1e-2), st.floats(0, 1e-3), st.floats(2e5, 1e6), st.floats(1e5, 2e5))
def test_a_dead_volume_costs_only_what_it_lost(swept: float, dead: float, supply: float, before: float) -> None:
    kilograms = tank.stroke_air_kg(swept, dead, supply, before)
    extra = kilograms - tank.stroke_air_kg(swept, 0.0, supply, before)
    assert extra == pytest.approx((supply - before) * dead / (287.05 * 293.15), abs=1e-12 + 1e-9 * kilograms)
    litres = tank.stroke_air_std_l(swept, dead, supply, before)
    assert litres * 1e-3 * 1e5 / (287.05 * 293.15) == pytest.approx(kilograms)


@given(st.floats(1e-3, 0.5), st.floats(2e5, 8e5), st.floats(1e4, 5e5))
def test_the_tank_for_what_a_tank_gives_is_that_tank(volume: float, low: float, drop: float) -> None:
    assert tank.tank_needed_m3(tank.usable_air_m3(volume, low + drop, low), low + drop, low) == pytest.approx(volume)


@given(st.floats(1e5, 5.9e5), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_filling_goes_on_from_where_it_was(start: float, one: float, other: float) -> None:
    """Two pieces take as long as the whole, and further takes longer."""
    low, high = sorted(start + (5.999e5 - start) * part for part in (one, other))
    whole = tank.fill_s(1e-3, WAY, 6e5, start, high)
    pieces = tank.fill_s(1e-3, WAY, 6e5, start, low) + tank.fill_s(1e-3, WAY, 6e5, low, high)
    assert pieces == pytest.approx(whole, rel=1e-9)
    assert tank.fill_s(1e-3, WAY, 6e5, start, low) <= whole


@given(st.floats(1.01e5, 9e5), st.floats(1.01e5, 9e5), st.floats(1.01e5, 9e5))
def test_emptying_goes_on_from_where_it_was(one: float, two: float, three: float) -> None:
    low, middle, high = sorted((one, two, three))
    whole = tank.empty_s(1e-3, WAY, 1e5, high, low)
    pieces = tank.empty_s(1e-3, WAY, 1e5, high, middle) + tank.empty_s(1e-3, WAY, 1e5, middle, low)
    assert pieces == pytest.approx(whole, rel=1e-8, abs=1e-12)


def test_a_quick_fill_is_done_in_five_sevenths_of_a_slow_one() -> None:
    """1 / gamma, choked. Source: energy balance of an insulated vessel."""
    slow, quick = (fill(1e-3, WAY, 7e5, 1e5, 2e5) for fill in (tank.fill_s, tank.fill_choked_without_heat_s))
    assert quick == pytest.approx(slow / 1.4)


@pytest.mark.parametrize("start", [250.0, 293.15, 320.0])
def test_a_vessel_filled_from_empty_ends_gamma_times_as_hot_as_its_supply(start: float) -> None:
    assert tank.temperature_after_fill_k(293.15, start, 0.0, 3e5) == pytest.approx(1.4 * 293.15)
    assert tank.temperature_after_fill_k(293.15, start, 3e5, 3e5) == pytest.approx(start)


def test_what_does_not_happen_is_refused() -> None:
    for low, high in ((2e5, 1e5), (1e5, 6e5), (math.nan, 2e5)):
        with pytest.raises(ValueError, match="does not fill"):
            tank.fill_s(1e-3, WAY, 6e5, low, high)
    for high, low in ((2e5, 3e5), (2e5, 1e5), (2e5, math.nan)):
        with pytest.raises(ValueError, match="does not empty"):
            tank.empty_s(1e-3, WAY, 1e5, high, low)
    with pytest.raises(ValueError, match="does not fill"):
        tank.fill_s(1e-3, Flow(0.0, 0.3), 6e5, 1e5, 2e5)
    with pytest.raises(ValueError, match="not choked"):
        tank.fill_choked_without_heat_s(1e-3, WAY, 6e5, 1e5, 2e5)
    with pytest.raises(ValueError, match="fills no tank"):
        tank.pump_up_s(0.02, 1e5, 9e5, 0.0)
    with pytest.raises(ValueError, match="gives nothing"):
        tank.tank_needed_m3(0.1, 5e5, 5e5)
