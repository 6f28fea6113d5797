"""Several pieces on one rod: they add up, friction only ever takes, ropes only ever pull."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.mechanism import Mechanism, together
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad
from sequencer.air.mechanism.swing import Swing
from tests.air.mechanism.geometries import linkages

G = 9.80665
pushes = st.one_of(st.none(), st.floats(-2000, 2000))


def alone(piece: Linkage, name: str = "it", stroke_m: float = 2.0) -> Mechanism:
    return Mechanism((piece,), (name,), stroke_m)


def gate(share: float = 0.0) -> SwungArm:
    swing = Swing(0.2, 0.5, math.radians(-90), math.radians(-30), math.radians(15))
    return SwungArm(swing, 0.9, 2.7, 0.8, share)


@settings(deadline=None)
@given(linkages, linkages, st.floats(0, 1), st.floats(-3, 3), pushes)
def test_pieces_without_shares_add_up(one: Linkage, other: Linkage, part: float, v: float, push: float | None) -> None:
    both = together(alone(one), alone(other, "that"))
    x = part * both.out_m
    sums = [a + b for a, b in zip(alone(one).load_at(x, v), alone(other).load_at(x, v), strict=True)]
    assert both.load_at(x, v, push) == pytest.approx(sums)
    assert both.out_m == min(2.0, one.out_m, other.out_m)


def test_a_lever_and_a_helping_spring_share_the_weight() -> None:
    spring = OutsideSpring(200.0, 60.0, pushes_home=False)
    both = together(alone(gate()), alone(spring, "helper"))
    assert both.load_at(0.05, 0.0)[2] == pytest.approx(gate().terms(0.05)[2] - (60.0 - 10.0))
    assert both.names == ("it", "helper")
    assert list(both.ends_at(0.05)) == ["it"]


@given(st.floats(0, 1), st.floats(0.01, 0.9))
def test_raising_takes_load_over_efficiency_and_lowering_gives_load_times_it(part: float, share: float) -> None:
    # Efficiency of a tackle or a hinge, any textbook of mechanics: effort to raise W / eta; W x eta holds it sinking.
    lever, x = alone(gate(share)), part * gate().out_m
    load = gate().terms(x)[2]
    assert lever.load_at(x, 0.1)[2] == pytest.approx(load / (1 - share))
    assert lever.load_at(x, -0.1)[2] == pytest.approx(load * (1 - share))


@given(st.floats(0, 1), st.floats(0.01, 0.9))
def test_with_a_push_that_just_keeps_it_moving_both_ways_of_telling_friction_agree(part: float, share: float) -> None:
    lever, x = alone(gate(share)), part * gate().out_m
    for way in (1.0, -1.0):
        slowly = lever.load_at(x, way)[2]
        assert lever.load_at(x, way, slowly)[2] == pytest.approx(slowly)


@given(st.floats(0, 1), st.floats(0.01, 0.9))
def test_rest_ends_where_the_push_exceeds_load_over_efficiency(part: float, share: float) -> None:
    lever, x = alone(gate(share)), part * gate().out_m
    load = lever.load_at(x, 0.0)[2]
    for push, starts in ((load / (1 - share) * 1.001, True), (load / (1 - share) * 0.999, False)):
        assert (push - load > lever.friction_n(x, push)) is starts
    for push, sinks in ((load * (1 - share) * 0.999, True), (load * (1 - share) * 1.001, False)):
        assert (load - push > lever.friction_n(x, push)) is sinks


def test_a_fast_start_pays_the_pivot_for_the_push_and_not_for_the_weight_alone() -> None:
    lever = alone(gate(0.2))
    load = lever.load_at(0.05, 0.0)[2]
    assert lever.load_at(0.05, 0.1, 10 * load)[2] == pytest.approx(load + 0.2 * 10 * load)


def test_a_helping_spring_goes_through_the_pivot_as_well_as_the_push() -> None:
    # What the pivot carries is the push and the spring together: 400 N and 50 N of which it eats a fifth.
    both = together(alone(gate(0.2)), alone(OutsideSpring(0.0, 50.0, pushes_home=False), "helper"))
    load = both.load_at(0.05, 0.0)[2]
    assert both.load_at(0.05, 0.1, 400.0)[2] == pytest.approx(load + 0.2 * 450.0)
    assert both.friction_n(0.05, 400.0) == pytest.approx(0.2 * 450.0)


@settings(deadline=None)
@given(st.floats(0, 1), st.floats(-3, 3), pushes, st.floats(0, 0.9), st.floats(0, 0.9))
def test_friction_only_ever_takes(part: float, v: float, push: float | None, hinge: float, pulleys: float) -> None:
    rope = RopeLift(4.0, 2, 0.2, pulls_out=True, share=pulleys)
    slide = StraightLoad(3.0, 0.4, rubs_n=12.0)
    all_of_it = together(alone(gate(hinge)), alone(rope, "rope"), alone(slide, "slide"))
    x = part * all_of_it.out_m
    still, moving = all_of_it.load_at(x, 0.0)[2], all_of_it.load_at(x, v, push)[2]
    assert (moving - still) * v >= 0
    if v:
        assert abs(moving - still) >= 12.0 - 1e-9


def test_a_rope_goes_slack_only_when_its_weight_would_have_to_fall_faster_than_it_can() -> None:
    # Galileo: nothing let go falls faster than g. Twice the way of the rod: the rod's limit is g / 2.
    rope = alone(RopeLift(4.0, 2, 0.5, pulls_out=True), "counterweight")
    assert rope.slack_at(0.2, -1.0, -G / 2 * 1.001) == ("counterweight",)
    assert rope.slack_at(0.2, -1.0, -G / 2 * 0.999) == ()
    homeward = alone(RopeLift(4.0, 2, 0.5, pulls_out=False), "counterweight")
    assert homeward.slack_at(0.2, 1.0, G / 2 * 1.001) == ("counterweight",)
    assert homeward.slack_at(0.2, -1.0, -50.0) == ()


def test_without_its_slack_rope_a_rod_goes_as_if_there_were_none() -> None:
    sledge, rope = alone(StraightLoad(3.0), "sledge"), alone(RopeLift(4.0, 2, 0.5, pulls_out=True), "rope")
    assert together(sledge, rope).without(("rope",)).load_at(0.2, 1.0) == sledge.load_at(0.2, 1.0)


@given(st.floats(0, 1), st.booleans(), st.sampled_from((0.0, 0.02)))
def test_a_rope_never_holds_its_weight_down(part: float, pulls_out: bool, stretch: float) -> None:
    rope = RopeLift(4.0, 2, 0.5, pulls_out, stretch)
    toward = 1 if pulls_out else -1
    assert 0 <= toward * rope.terms(part * 0.5)[2] <= 2 * 4.0 * G * (1 + 1e-12)


def test_a_rope_that_gives_lifts_by_what_is_pulled_in_less_what_it_gives() -> None:
    rope = RopeLift(4.0, 2, 0.5, pulls_out=True, stretch_m=0.1)
    assert rope.lifted_at(0.5)[0] == pytest.approx(2 * 0.5 - 0.1)
    below, above = rope.lifted_at(0.1 - 1e-9), rope.lifted_at(0.1 + 1e-9)
    assert below[:2] == pytest.approx(above[:2], abs=1e-6)


def test_the_speed_of_a_props_end_is_the_rods_times_the_ratio_and_its_acceleration_has_the_bend() -> None:
    # By finite differences of travel along x(t) = 0.05 + 0.2 t + 0.15 t^2.
    end = gate().end_at(0.05)
    step = 1e-4
    travels = [gate().end_at(0.05 + 0.2 * t + 0.15 * t * t).travel_m for t in (-step, 0.0, step)]
    assert end.speed_m_s(0.2) == pytest.approx((travels[2] - travels[0]) / (2 * step), rel=1e-6)
    second = (travels[2] - 2 * travels[1] + travels[0]) / step**2
    assert end.acceleration_m_s2(0.2, 0.3) == pytest.approx(second, rel=1e-4)
