"""Linkages where a closed form gives the answer. Each names its source; nothing here is this project's own figure."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sequencer.air.mechanism.fourbar import Bars, SwungBars, does_not_close_at
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad, guide_friction_n
from sequencer.air.mechanism.swing import Swing, dead_centre_rad
from tests.air.mechanism.geometries import arms, swings

G = 9.80665


def lever_at(degrees: float, rod_at: float = 0.3, base_at: float = 0.4) -> Swing:
    """A swing that starts with this angle between arm and base, the base to the right."""
    return Swing(rod_at, base_at, 0.0, math.radians(degrees), math.radians(degrees + 20))


def test_a_lever_pushed_at_a_right_angle_obeys_the_law_of_the_lever() -> None:
    # Archimedes, On the Equilibrium of Planes, I.6-7: weights balance at distances inversely as the weights. The line
    # of push meets the arm at a right angle where rod pin, pivot and base make a triangle of sides 3, 4, 5 with the
    # right angle at the rod pin: base 0.5 from the pivot, rod 0.3, cylinder 0.4.
    corner = math.degrees(math.acos(3 / 5))
    swing = Swing(0.3, 0.5, math.radians(-corner), 0.0, math.radians(20))
    assert swing.home_m == pytest.approx(0.4)
    mass, _, load = SwungArm(swing, 0.9, 2.0).terms(0.0)
    assert load == pytest.approx(2.0 * G * 0.9 / 0.3)
    assert mass == pytest.approx(2.0 * (0.9 / 0.3) ** 2)


@given(arms(), st.floats(0, 1))
def test_the_push_that_holds_a_lever_is_moment_over_the_distance_of_its_line(arm: SwungArm, part: float) -> None:
    # Varignon: moment = force x distance of its line from the pivot (any textbook of statics). Distance of a point from
    # the line through two others: twice the area of the triangle over the side, area by Heron.
    swing = arm.swing
    x = part * swing.out_m
    a, b, c = swing.rod_at_m, swing.base_at_m, swing.home_m + x
    s = (a + b + c) / 2
    distance = 2 * math.sqrt(s * (s - a) * (s - b) * (s - c)) / c
    end = arm.end_at(x)
    moment = (arm.load_kg * end.right_m + arm.arm_kg * end.right_m / 2) * G
    toward = math.copysign(1.0, swing.end_rad - swing.start_rad)
    assert arm.terms(x)[2] == pytest.approx(toward * moment / distance, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("off", [4.0, 2.0, 1.0])
def test_a_crank_near_its_dead_centre_turns_without_bound(off: float) -> None:
    # Closed form, derived here: near the line of both pivots l = |d - a| + a d phi^2 / (2 |d - a|), so
    # dphi/dx = |d - a| / (a d phi); the next term is of the order phi^2.
    phi = math.radians(off)
    _, slope, _ = lever_at(off).turn_at(0.0)
    assert slope * phi == pytest.approx(0.1 / (0.3 * 0.4), rel=8 * phi**2)


def test_at_a_dead_centre_nothing_is_reckoned() -> None:
    assert dead_centre_rad(Swing(0.3, 0.4, 0.0, 0.0, 1.0)) == 0.0
    assert dead_centre_rad(Swing(0.3, 0.4, 1.0, 2.0, 1.0 + math.pi + 0.1)) == pytest.approx(1.0 + math.pi)
    assert dead_centre_rad(lever_at(0.4)) == 0.0
    assert dead_centre_rad(lever_at(0.6)) is None


@given(swings(), st.floats(0, 1))
def test_the_angle_of_an_arm_gives_back_the_length_of_its_cylinder(swing: Swing, part: float) -> None:
    x = part * swing.out_m
    angle, _, _ = swing.turn_at(x)
    assert swing.pin_to_pin_m(angle) - swing.home_m == pytest.approx(x, abs=1e-9)
    assert min(swing.start_rad, swing.end_rad) - 1e-7 <= angle <= max(swing.start_rad, swing.end_rad) + 1e-7


@given(st.integers(1, 20), st.floats(0.06, 1.4))
def test_a_scissor_goes_n_over_tan_as_far_as_its_rod_and_weighs_as_much_more(stages: int, angle: float) -> None:
    # Spackman, Mathematical Analysis of Scissor Lifts, NOSC Technical Document 1564 (1989), from memory: an actuator
    # along the base holds (W + w / 2) n / tan(theta), W the load and w the weight of the links.
    stack = ScissorStack(stages, 0.6, angle, angle + 0.1, 20.0, 8.0)
    assert stack.end_at(0.0).ratio == pytest.approx(stages / math.tan(angle))
    assert stack.terms(0.0)[2] == pytest.approx((20.0 + 4.0) * G * stages / math.tan(angle))


def test_a_massless_scissor_of_one_stage_at_45_degrees_moves_its_load_one_to_one() -> None:
    # Closed form: n / tan(45 deg) = 1, and the mass at the rod is the mass.
    stack = ScissorStack(1, 0.5, math.radians(45), math.radians(60), 3.0)
    assert stack.end_at(0.0).ratio == pytest.approx(1.0)
    assert stack.terms(0.0)[0] == pytest.approx(3.0)


@settings(deadline=None)
@given(swings(), st.floats(0.05, 0.5), st.floats(0.3, 1.2), st.floats(0, 1))
def test_a_parallelogram_carries_its_load_as_a_lever_of_the_rockers_length(
    swing: Swing, crank: float, ground: float, part: float
) -> None:
    # Closed form: opposite bars of a parallelogram stay parallel (Euclid, Elements I.34), so the rocker is the crank.
    low, high = sorted((swing.start_rad, swing.end_rad))
    assume(math.floor(low / math.pi) == math.floor(high / math.pi))
    side = 1.0 if math.sin((low + high) / 2) > 0 else -1.0
    bars = Bars(ground, crank, ground, crank, side)
    assume(does_not_close_at(bars, low, high) is None)
    x = part * swing.out_m
    arm, four = SwungArm(swing, crank, 3.0), SwungBars(swing, bars, 3.0)
    sharp = 1 / min(abs(math.sin(angle)) for angle in (low, high)) ** 3
    assert four.terms(x) == pytest.approx(arm.terms(x), rel=1e-9 * sharp, abs=1e-9 * sharp)
    assert four.end_at(x).travel_m == pytest.approx(arm.end_at(x).travel_m, abs=1e-8)


@given(st.floats(0.2, 2.9))
def test_crank_and_rocker_obey_freudensteins_equation(theta: float) -> None:
    # Freudenstein, Approximate Synthesis of Four-Bar Linkages, Trans. ASME 77 (1955), from memory:
    # K1 cos(psi) - K2 cos(theta) + K3 = cos(theta - psi), K1 = g / c, K2 = g / r,
    # K3 = (c^2 - p^2 + r^2 + g^2) / (2 c r).
    g, c, p, r = 0.6, 0.2, 0.5, 0.4
    cos_p, sin_p, _, _ = Bars(g, c, p, r).rocker_at(theta)
    left = g / c * cos_p - g / r * math.cos(theta) + (c * c - p * p + r * r + g * g) / (2 * c * r)
    assert left == pytest.approx(math.cos(theta) * cos_p + math.sin(theta) * sin_p, abs=1e-12)


def test_a_rocker_stands_still_where_crank_and_coupler_lie_in_one_line() -> None:
    # Any textbook of mechanisms: the limit position of a crank-rocker. Crank and coupler stretched out make a triangle
    # of sides c + p, g and r, so the crank's angle there follows from the law of cosines.
    g, c, p, r = 0.6, 0.2, 0.5, 0.4
    theta = math.acos(((c + p) ** 2 + g * g - r * r) / (2 * (c + p) * g))
    _, _, slope, bend = Bars(g, c, p, r).rocker_at(theta)
    assert slope == pytest.approx(0.0, abs=1e-12)
    assert abs(bend) > 0.1


def test_bars_that_do_not_reach_are_found_wherever_on_the_swing_they_part() -> None:
    # Euclid, Elements I.20: two sides of a triangle together are longer than the third. At 180 deg the gap is 0.8.
    bars = Bars(0.6, 0.2, 0.45, 0.3)
    assert does_not_close_at(bars, math.radians(100), math.radians(170)) == pytest.approx(math.radians(170))
    assert does_not_close_at(bars, math.radians(-130), math.radians(130)) is None
    assert does_not_close_at(bars, math.radians(120), math.radians(235)) == pytest.approx(math.pi)


def test_a_tackle_feels_its_weight_as_often_as_it_multiplies_the_way() -> None:
    # Hero, Mechanics, on pulleys; any textbook: force x way is the same on both sides.
    rope = RopeLift(5.0, 3, 0.4, pulls_out=False)
    mass, half, load = rope.terms(0.1)
    assert (mass, half, load) == (pytest.approx(45.0), 0.0, pytest.approx(-3 * 5.0 * G))
    assert rope.end_at(0.1).up_m == pytest.approx(-0.3)


@given(st.floats(0, 0.3))
def test_a_spring_that_pushes_out_never_pulls(x: float) -> None:
    spring = OutsideSpring(1000.0, 150.0, pushes_home=False)
    assert spring.terms(x)[2] == pytest.approx(-max(150.0 - 1000.0 * x, 0.0))
    assert OutsideSpring(1000.0, 150.0, pushes_home=True).terms(x)[2] == pytest.approx(150.0 + 1000.0 * x)


def test_a_slide_starts_by_itself_above_the_angle_of_friction() -> None:
    # Angle of repose: tan(angle) = coefficient of friction (any textbook of statics).
    for degrees, slides in ((19.0, True), (18.0, False)):
        angle = math.radians(-degrees)
        rubs = guide_friction_n(4.0, angle, 1 / 3, 0.0)
        assert (-StraightLoad(4.0, angle).terms(0.0)[2] > rubs) is slides


def test_a_rocker_that_turns_by_more_than_half_a_turn_goes_as_far_as_its_small_turns() -> None:
    """The ground bar is the shortest, so the rocker follows the crank round; here by 4.389 rad, which an angle taken
    within half a turn of the middle of the swing made 1.894."""
    swing = Swing(0.14515, 0.5, 0.5, 6.5331853, 4.3812769)
    bars = SwungBars(swing, Bars(0.2, 0.25, 0.262, 0.237, -1.0), 22.0)
    angles = [bars.end_at(bars.out_m * n / 2000).angle_rad for n in range(2001)]
    turns = sum(math.remainder(b - a, 2 * math.pi) for a, b in pairwise(angles))
    travel = bars.end_at(bars.out_m).travel_m - bars.end_at(0.0).travel_m
    assert abs(turns) > math.pi + 1
    assert travel == pytest.approx(0.237 * abs(turns), rel=1e-9)
