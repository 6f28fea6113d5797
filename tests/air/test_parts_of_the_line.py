"""Laws of tubes, needles, mufflers, quick exhausts, regulators and conversions."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air import convert, gas, parts
from sequencer.air.flow import Flow, free_flow_m3_s
from sequencer.air.needle import FlowControl, needle_conductance, setting_of_needle, through_flow_control
from sequencer.air.tube import tube_delay_s, tube_flow, tube_volume_m3

SETTING = st.floats(0.0, 1.0)


@given(st.floats(0.002, 0.012), st.floats(0.1, 30))
def test_a_longer_or_narrower_tube_passes_less_and_a_longer_one_chokes_later(inner: float, length: float) -> None:
    here, longer, wider = tube_flow(inner, length), tube_flow(inner, length * 1.1), tube_flow(inner * 1.1, length)
    assert longer.c_m3_s_pa < here.c_m3_s_pa < wider.c_m3_s_pa
    assert longer.b <= here.b


@pytest.mark.parametrize(("inner", "length"), [(0, 1), (0.004, 0), (-0.004, 1), (math.nan, 1), (0.004, math.inf)])
def test_what_is_no_tube_is_refused(inner: float, length: float) -> None:
    with pytest.raises(ValueError, match="no tube"):
        tube_flow(inner, length)


def test_a_tube_holds_its_cross_section_times_its_length_and_delays_by_sound() -> None:
    """A 10 mm tube of 1 m holds 78.54 ml (pi/4); sound takes 2.9 ms a metre (343 m/s at 20 C)."""
    assert tube_volume_m3(0.01, 1.0) * 1e6 == pytest.approx(78.54, rel=1e-4)
    assert tube_delay_s(1.0) == pytest.approx(0.0029, rel=0.01)


@given(SETTING, SETTING)
def test_a_needle_further_open_never_passes_less(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert 0.02e-8 <= needle_conductance(1e-8, low) <= needle_conductance(1e-8, high) <= 1e-8 * (1 + 1e-12)


@given(SETTING)
def test_a_setting_is_found_again_from_what_it_passes(setting: float) -> None:
    assert setting_of_needle(1e-8, needle_conductance(1e-8, setting)) == pytest.approx(setting, abs=1e-6)


@given(SETTING, st.sampled_from(["out", "in"]))
def test_only_the_metered_direction_feels_the_needle(setting: float, metering: str) -> None:
    part = FlowControl(metering=metering)  # type: ignore[arg-type]
    free = through_flow_control(part, setting, leaving=metering == "in")
    metered = through_flow_control(part, setting, leaving=metering == "out")
    assert free.c_m3_s_pa == part.free
    assert metered.c_m3_s_pa == needle_conductance(part.full, setting)


def test_a_needle_larger_than_the_free_way_passes_no_more_than_it() -> None:
    assert through_flow_control(FlowControl(full=3e-8), 1.0, leaving=True).c_m3_s_pa == 1.2e-8


@pytest.mark.parametrize("setting", [-0.01, 1.01, math.nan])
def test_a_needle_beyond_its_ends_is_refused(setting: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        needle_conductance(1e-8, setting)


@pytest.mark.parametrize("conductance", [0.0, 1.1e-8, math.nan])
def test_a_flow_no_setting_gives_is_refused(conductance: float) -> None:
    with pytest.raises(ValueError, match="never"):
        setting_of_needle(1e-8, conductance)


def test_a_flow_control_is_made_of_two_restrictions() -> None:
    with pytest.raises(ValueError, match="conductance"):
        FlowControl(full=-1e-8)


def test_a_clogged_muffler_and_a_muffler_on_a_quick_exhaust_take_away() -> None:
    clean, clogged = parts.muffler_flow(), parts.muffler_flow(clogged=True)
    assert clogged.c_m3_s_pa == pytest.approx(clean.c_m3_s_pa / 3)
    bare, muffled = parts.exhaust_past_quick_exhaust(muffler=None), parts.exhaust_past_quick_exhaust()
    assert muffled.c_m3_s_pa < bare.c_m3_s_pa == parts.QUICK_EXHAUST.c_m3_s_pa


@given(st.floats(1e5, 8e5), st.floats(1e5, 8e5))
def test_a_quick_exhaust_opens_only_when_its_line_has_fallen(line: float, port: float) -> None:
    assert not (parts.quick_exhaust_opens(line, port) and parts.quick_exhaust_opens(port, line))
    assert not parts.quick_exhaust_opens(port, port)


SET_PA, INLET_PA = 7e5, 10e5


@given(st.floats(0, 9.9e5), st.floats(0, 9.9e5))
def test_a_regulator_lets_less_through_the_nearer_it_is_to_its_setting(one: float, other: float) -> None:
    low, high = sorted((one, other))
    part = parts.Regulator()
    assert (parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, low)
            >= parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, high))
    assert parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, SET_PA) == 0


@given(st.floats(0, 0.9999))
def test_a_regulator_droops_to_where_it_passes_what_is_drawn(load: float) -> None:
    part = parts.Regulator()
    most = parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, 0.0)
    outlet = parts.regulator_outlet_pa(part, SET_PA, INLET_PA, load * most)
    assert parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, outlet) == pytest.approx(load * most, rel=1e-6, abs=1e-9)
    assert outlet <= SET_PA


def test_a_regulator_wide_open_is_its_restriction_and_never_flows_back() -> None:
    part = parts.Regulator()
    assert (parts.regulator_flow_m3_s(part, SET_PA, INLET_PA, 6e5)
            == free_flow_m3_s(part.way, INLET_PA, 6e5))
    assert parts.regulator_flow_m3_s(part, SET_PA, 5e5, 6e5) == 0
    assert parts.regulator_outlet_pa(part, SET_PA, 5e5, 0.0) == pytest.approx(5e5)
    with pytest.raises(ValueError, match="cannot pass"):
        parts.regulator_outlet_pa(part, SET_PA, INLET_PA, 1.0)
    with pytest.raises(ValueError, match="band"):
        parts.Regulator(band_pa=0.0)


@given(st.floats(1e-10, 1e-6), st.floats(0, 0.6))
def test_conversions_come_back_to_where_they_began(c: float, b: float) -> None:
    assert convert.conductance_of_cv(convert.cv_of_conductance(Flow(c, b)), b) == pytest.approx(c)
    assert convert.conductance_of_area(convert.area_of_conductance(c)) == pytest.approx(c)
    assert gas.std_l_of_kg(gas.kg_of_std_l(c)) == pytest.approx(c)
    assert gas.scf_of_std_l(gas.std_l_of_scf(c)) == pytest.approx(c)


@given(st.floats(2e5, 1e6), st.floats(0.0, 0.98))
def test_the_ideal_nozzle_lies_on_the_ellipse_with_its_own_critical_ratio(up: float, ratio: float) -> None:
    """Within 0.3 %: the ellipse of ISO 6358 is the shape of the isentropic nozzle."""
    ellipse = Flow(convert.conductance_of_area(1e-6), convert.critical_ratio())
    nozzle = convert.nozzle_mass_flow_kg_s(1e-6, up, ratio * up)
    assert free_flow_m3_s(ellipse, up, ratio * up) * gas.DENSITY_ANR_KG_M3 == pytest.approx(nozzle, rel=3e-3)


def test_a_gauge_below_vacuum_is_refused() -> None:
    with pytest.raises(ValueError, match="vacuum"):
        gas.absolute_pa(-1.1e5)
    assert gas.absolute_pa(0.0) == gas.P_ATMOSPHERE_PA
