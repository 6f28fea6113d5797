"""Which tube and which pressure reach a cylinder."""

from __future__ import annotations

import pytest

from sequencer.rig.cylinder import Cylinder
from sequencer.schedule.supply import Air, air_of, cylinders_on, request_for, valve_of
from tests.schedule.yard import planned

YARD = """show "Marrow Lane"
board box like host
compressor shed:
    delivers 5.1 scfm at 90 psi
    tank 20 gal
    cuts in at 95 psi, cuts out at 125 psi
line yard from shed: tube 3/8 in, length 50 ft
manifold bench on yard: ports 8, regulator 80 psi
prop window:
    air from bench port 1, tube 1/4 in, length 12 ft, regulator 60 psi
    valve shove like valve_5_2_quarter: on box out1
    cylinder ram:
        on shove
        bore 1-1/2 in, rod 7/16 in, stroke 12 in
    cylinder side:
        on shove
        bore 3/4 in, rod 1/4 in, stroke 2 in
        tube 5/32 in long 3 ft
scare lunge:
    0 s: window.ram extends
    5 s: window.ram retracts
"""
PSI = 6894.757


def air(text: str, cylinder: str = "window.ram") -> Air:
    parts = planned(text).show.parts
    part = parts[cylinder].part
    assert isinstance(part, Cylinder)
    return air_of(parts, part)


def test_the_tube_is_the_prop_s_unless_the_cylinder_has_its_own() -> None:
    assert air(YARD).tube_length_m == pytest.approx(12 * 0.3048)
    assert air(YARD).tube_inner_m == pytest.approx(0.165 * 0.0254)
    assert air(YARD, "window.side").tube_length_m == pytest.approx(3 * 0.3048)
    assert air(YARD, "window.side").tube_inner_m == pytest.approx(0.093 * 0.0254)


@pytest.mark.parametrize(("taken_out", "psi"), [((), 60), ((", regulator 60 psi",), 80),
                                                ((", regulator 60 psi", ", regulator 80 psi"), 95)])
def test_the_pressure_is_that_of_the_nearest_regulator_else_where_the_compressor_cuts_in(
    taken_out: tuple[str, ...], psi: float
) -> None:
    text = YARD
    for words in taken_out:
        text = text.replace(words, "")
    assert air(text).pressure_pa_gauge == pytest.approx(psi * PSI, rel=1e-6)


def test_without_air_the_pressure_is_not_known() -> None:
    text = YARD.replace("    air from bench port 1, tube 1/4 in, length 12 ft, regulator 60 psi\n", "")
    assert air(text) == Air(0.0, 0.0, None)
    made = planned(text)
    assert made.codes == ["C014", "C014"]
    assert ["window.ram" in made.findings[0].message, "window.side" in made.findings[1].message] == [True, True]


def test_a_valve_knows_its_cylinders_and_they_it() -> None:
    parts = planned(YARD).show.parts
    assert cylinders_on(parts, "window.shove") == ("window.ram", "window.side")
    valve = valve_of(parts, "window.side")
    assert valve is not None and valve.name == "window.shove"
    assert request_for(parts, "window.shove", 0.0, "out") is None


def test_both_cylinders_of_a_valve_travel() -> None:
    moment = planned(YARD).first.moments[0]
    assert [travel.cylinder for travel in moment.travels] == ["window.ram", "window.side"]
    assert moment.ends_us[1] == max(travel.arrives_us[1] for travel in moment.travels)


def test_what_was_not_timed_says_so_in_the_plan() -> None:
    stroke = planned(YARD).first.moments[0].travels[0].stroke
    assert stroke is not None and stroke.basis == "described"
