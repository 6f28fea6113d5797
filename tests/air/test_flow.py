"""Laws of the flow through one restriction."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air.flow import (
    BETA,
    Flow,
    free_flow_m3_s,
    mass_flow_between_kg_s,
    mass_flow_kg_s,
    mass_flow_slopes,
    outlet_pa,
    ratio_for_share,
    share,
    share_slope,
)
from sequencer.air.gas import DENSITY_ANR_KG_M3

B = st.floats(0.0, 0.7)
RATIO = st.floats(0.0, 1.0)
FLOWS = st.builds(Flow, st.floats(1e-10, 1e-7), B)
PRESSURE = st.floats(1e4, 1.2e6)
KELVIN = st.floats(250, 400)


@given(B, RATIO, RATIO)
def test_a_higher_pressure_behind_never_lets_more_through(b: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert share(low, b) >= share(high, b)


@given(RATIO, B, B)
def test_a_higher_critical_ratio_never_lets_less_through(ratio: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert share(ratio, high) >= share(ratio, low) * (1 - 1e-12)


@given(B)
def test_the_law_has_no_jump_where_it_chokes_and_where_it_turns_straight(b: float) -> None:
    assert share(b + 1e-9, b) == pytest.approx(1.0, abs=1e-12)
    assert share_slope(b + 1e-9, b) == pytest.approx(0.0, abs=1e-7)
    assert share(BETA - 1e-12, b) == pytest.approx(share(BETA, b), rel=1e-9)


@given(B)
def test_nothing_flows_between_equal_pressures(b: float) -> None:
    assert share(1.0, b) == 0
    assert mass_flow_kg_s(1e-8, b, 5e5, 5e5, 293.15) == 0


@given(FLOWS, PRESSURE, KELVIN, PRESSURE, KELVIN)
def test_the_other_way_round_the_same_flows_back(flow: Flow, one: float, hot: float, other: float, cold: float) -> None:
    there = mass_flow_between_kg_s(flow, one, hot, other, cold)
    assert there == -mass_flow_between_kg_s(flow, other, cold, one, hot)
    assert (there > 0) == (one > other)


@given(FLOWS, PRESSURE, PRESSURE, PRESSURE)
def test_a_higher_pressure_before_never_lets_less_through(flow: Flow, one: float, other: float, behind: float) -> None:
    low, high = sorted((one, other))
    less, more = (mass_flow_between_kg_s(flow, before, 293.15, behind, 293.15) for before in (low, high))
    assert more >= less - 1e-12 * abs(less)


@given(FLOWS, PRESSURE, RATIO, KELVIN)
def test_the_checked_and_the_quick_form_say_the_same(flow: Flow, up: float, ratio: float, kelvin: float) -> None:
    quick = mass_flow_kg_s(flow.c_m3_s_pa, flow.b, up, up * ratio, kelvin)
    assert quick == pytest.approx(free_flow_m3_s(flow, up, up * ratio, kelvin) * DENSITY_ANR_KG_M3, rel=1e-12)


@given(FLOWS, st.floats(2e5, 1e6), st.floats(0.01, 0.989) | st.floats(0.991, 0.999), KELVIN)
def test_slopes_are_those_of_small_differences(flow: Flow, up: float, ratio: float, kelvin: float) -> None:
    """Source: central differences, away from the corner at beta and from the ends."""
    down, step = up * ratio, up * 1e-5

    def kg_s(above: float, below: float) -> float:
        return mass_flow_kg_s(flow.c_m3_s_pa, flow.b, above, below, kelvin)

    scale = kg_s(up, 0.0) / up
    above, below = mass_flow_slopes(flow, up, down, kelvin)
    small_above = (kg_s(up + step, down) - kg_s(up - step, down)) / (2 * step)
    small_below = (kg_s(up, down + step) - kg_s(up, down - step)) / (2 * step)
    assert above == pytest.approx(small_above, rel=1e-4, abs=scale * 1e-4)
    assert below == pytest.approx(small_below, rel=1e-4, abs=scale * 1e-4)
    assert above >= 0 >= below


@given(B, st.floats(1e-6, 1.0))
def test_the_ratio_for_a_share_gives_that_share(b: float, wanted: float) -> None:
    assert share(ratio_for_share(wanted, b), b) == pytest.approx(wanted, rel=1e-7)


@given(FLOWS, PRESSURE, st.floats(0.001, 0.999))
def test_the_pressure_behind_passes_the_flow_it_was_asked_for(flow: Flow, up: float, part: float) -> None:
    wanted = part * mass_flow_kg_s(flow.c_m3_s_pa, flow.b, up, 0.0, 293.15)
    behind = outlet_pa(flow, up, wanted)
    assert mass_flow_kg_s(flow.c_m3_s_pa, flow.b, up, behind, 293.15) == pytest.approx(wanted, rel=1e-6)


def test_hot_air_passes_as_the_root_of_its_temperature() -> None:
    """ISO 6358-1: sqrt(T_0 / T_1); 4 times the temperature, half the mass."""
    cold, hot = (mass_flow_kg_s(1e-8, 0.3, 5e5, 1e5, kelvin) for kelvin in (293.15, 4 * 293.15))
    assert hot == pytest.approx(cold / 2)


@pytest.mark.parametrize(("c", "b"), [(-1e-9, 0.3), (math.nan, 0.3), (math.inf, 0.3), (1e-8, -0.1), (1e-8, 0.99),
                                      (1e-8, math.nan)])
def test_what_is_no_restriction_is_refused(c: float, b: float) -> None:
    with pytest.raises(ValueError, match=r"is none|is not between"):
        Flow(c, b)


@pytest.mark.parametrize(("up", "down"), [(1e5, 2e5), (0.0, 0.0), (1e5, -1.0), (math.nan, 1e5), (1e5, math.nan)])
def test_pressures_the_wrong_way_round_are_refused(up: float, down: float) -> None:
    with pytest.raises(ValueError, match="no flow is defined"):
        free_flow_m3_s(Flow(1e-8, 0.3), up, down)


def test_more_than_chokes_is_refused() -> None:
    with pytest.raises(ValueError, match="more than"):
        outlet_pa(Flow(1e-8, 0.3), 5e5, 1.0)
    with pytest.raises(ValueError, match="share"):
        ratio_for_share(1.01, 0.3)


def test_a_closed_way_passes_nothing_and_drops_nothing_at_rest() -> None:
    assert free_flow_m3_s(Flow(0.0, 0.3), 5e5, 1e5) == 0
    assert outlet_pa(Flow(0.0, 0.3), 5e5, 0.0) == 5e5
