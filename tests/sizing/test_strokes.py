"""Strokes asked without a show: forces as handbooks print them, air as balanced, no rod that moves unpushed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.stops import CONTACT_FORCE_N, STOP_ENERGY_J, stop_energy_j
from sequencer.air.tank import stroke_air_std_l
from sequencer.sizing.judge import Kind, remarks
from sequencer.sizing.strokes import described, force_of, strokes
from sequencer.units import UNITS
from tests.sizing.props import ram


@pytest.mark.parametrize(
    ("bore", "psi", "pounds", "source"),
    [
        ("1-1/2 in", 80, 141, "Machine Design, A few guidelines: pneumatic actuator load requirements"),
        ("3/4 in", 60, 26.507, "definition, as in any handbook table"),
    ],
)
def test_the_push_is_that_of_the_handbooks(bore: str, psi: float, pounds: float, source: str) -> None:
    push = force_of(described(ram(bore=bore, regulator=f"{psi} psi")), "out").push_n
    assert push / float(UNITS["lbf"].factor) == pytest.approx(pounds, abs=0.5), source


def test_the_push_of_an_iso_cylinder_is_that_of_its_tables() -> None:
    """ISO 15552 size 32/12 at 6 bar: makers print 483 N out and 415 N back (from memory)."""
    parts = described(ram(bore="32 mm", regulator="6 bar"))
    assert force_of(parts, "out").push_n == pytest.approx(483, abs=1)
    assert force_of(parts, "home").push_n == pytest.approx(415, abs=1)


def test_a_settled_stroke_takes_the_air_that_fills_it() -> None:
    """Closed form p (V_dead + V_swept) - p_0 V_dead, with the tube in the dead volume: exact once it has settled."""
    found = strokes(ram(), False)
    cylinder, tube = found.out.trace.cylinder, found.given.tube
    assert tube is not None
    dead = cylinder.cap.dead_m3 + (math.pi / 4 * tube.inner_m**2 * tube.length.si if cylinder.cap.node_m3 else 0.0)
    swept = cylinder.cap.area_m2 * cylinder.stroke_m
    assert found.out.air_std_l == pytest.approx(stroke_air_std_l(swept, dead, cylinder.supply_pa), rel=2e-3)


@settings(deadline=None, max_examples=25)
@given(st.floats(8, 80), st.floats(0.5, 60), st.floats(-90, 90), st.floats(1.5, 8))
def test_a_rod_moves_just_where_it_has_a_margin(bore: float, kg: float, angle: float, bar: float) -> None:
    said = ram(bore=f"{bore:.3f} mm", rod=f"{bore / 3:.3f} mm", stroke="120 mm", moves=f"{kg:.3f} kg",
               lifts=f"{angle:.3f} deg", regulator=f"{bar:.3f} bar")
    for stroke in strokes(said, False).both:
        if stroke.force.margin > 0.02:
            assert stroke.lead_s is not None
        if stroke.force.margin < -0.02:
            assert stroke.arrives_s is None
        if stroke.arrives_s is not None and stroke.lead_s is not None:
            passed = [stroke.lead_s, *(stroke.passes_s(share) or math.nan for share in (0.25, 0.5, 0.75, 1.0))]
            assert passed == sorted(passed)
            assert stroke.travel_s == pytest.approx(stroke.arrives_s - stroke.lead_s)


def test_the_least_pressure_just_moves_it() -> None:
    """At 1 % more than where the forces balance it moves, at 1 % less it does not."""
    least = strokes(ram(), False).out.force.least_pa_gauge
    assert least is not None
    for share, moves in ((1.01, True), (0.99, False)):
        found = strokes(ram(regulator=f"{least * share / 1e5:.6f} bar"), False)
        assert (found.out.lead_s is not None) == moves


def test_a_prop_without_reach_said_asks_and_one_out_of_reach_does_not() -> None:
    def kinds(**more: object) -> set[Kind]:
        return {remark.kind for remark in remarks(strokes(ram(**more), False))}

    contact: set[Kind] = {"closes too hard"}
    assert contact <= kinds() and contact <= kinds(reach="possible")
    assert not contact & kinds(reach="none") and not contact & kinds(reach="fenced")
    tame = ram(bore="7/16 in", moves="0.2 lb", lifts="0 deg", regulator="60 psi", stroke="2 in")
    assert force_of(described(tame), "out").push_n < CONTACT_FORCE_N[0]
    assert not {"closes too hard", "hits too hard"} & {remark.kind for remark in remarks(strokes(tame, False))}


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ({"moves": "150 lb", "lifts": "90 deg"}, "never moves"),
        ({"moves": "60 lb", "lifts": "90 deg"}, "little margin"),
        ({"regulator": "20 psi"}, "pilot starved"), ({"stroke": "30 in", "rod": "1/4 in"}, "rod buckles"),
        ({}, "end too hard"), ({"needle": "10 %"}, "slips"), ({"needle": "8 %"}, "slow"),
    ],
)
def test_what_is_to_be_minded_is_found_and_only_that(more: dict[str, str], kind: Kind) -> None:
    plain = ram(rod="7/16 in", moves="2 lb", lifts="0 deg", needle_out="50 %", needle_back="50 %", reach="none",
                regulator="60 psi", stroke="6 in")
    assert remarks(strokes(plain, False)) == ()
    if "needle" in more:
        more = {"needle_out": more["needle"], "needle_back": more["needle"]}
    assert kind in {remark.kind for remark in remarks(strokes(ram(**more), False))}


def test_energy_of_a_stop_grows_with_the_bore() -> None:
    found = [stop_energy_j(mm / 1000) for mm in range(4, 200)]
    assert found == sorted(found)
    assert all(stop_energy_j(bore) == energy for bore, energy in STOP_ENERGY_J)
    with pytest.raises(ValueError, match="bore"):
        stop_energy_j(0.0)


@pytest.mark.parametrize("more", [
    {}, {"bore": "4 in", "rod": "1 in", "stroke": "24 in", "tube": "3/8 in"}, {"bore": "3/4 in", "stroke": "2 in"},
    {"bore": "2-1/2 in", "stroke": "18 in", "needle_out": "20 %", "needle_back": "20 %"},
])
def test_air_is_what_fills_it_once_it_has_cooled(more: dict[str, str]) -> None:
    """Both ways, from ends that were vented, in closed form: p (A L + dead + tube) less what atmosphere held there.

    A 4 in bore that is filled in a second takes in another 11 % while it cools."""
    found = strokes(ram(**more), False)
    cylinder, tube = found.given.cylinder, found.given.tube
    assert tube is not None
    supply, line = found.given.regulator.si + 101_325, math.pi / 4 * tube.inner_m**2 * tube.length.si
    cap = math.pi / 4 * cylinder.bore.si**2
    for stroke, area in ((found.out, cap), (found.home, cap - math.pi / 4 * cylinder.rod.si**2)):
        dead = area * 0.008 + 2e-6 + line
        litres = (supply * (dead + area * cylinder.stroke.si) - 101_325 * dead) / 1e5 * 1000
        assert stroke.air_std_l == pytest.approx(litres, rel=0.002)
