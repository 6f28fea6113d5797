"""The weakest place of a stroke, and that what is said to help does help, and no less would."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from sequencer.air.mechanism.fourbar import Bars, SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.mechanism import Mechanism, together
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad
from sequencer.air.mechanism.swing import Swing
from sequencer.air.mechanism.weakest import weakest, what_helps
from tests.air.mechanism.geometries import arms, linkages

G = 9.80665


def alone(piece: Linkage, stroke_m: float = 2.0) -> Mechanism:
    return Mechanism((piece,), ("it",), stroke_m)


def gate(rod_at: float = 0.2) -> SwungArm:
    return SwungArm(Swing(rod_at, 0.6, math.radians(-90), math.radians(-30), math.radians(15)), 0.9, 2.7, 0.8, 0.1)


def test_a_scissor_is_weakest_where_it_lies_lowest() -> None:
    # n / tan(theta) falls as theta grows (closed form, see test_closed_forms).
    stack = ScissorStack(3, 0.5, math.radians(12), math.radians(60), 4.0)
    found = weakest(alone(stack), 1000.0)
    assert found.x_m == 0.0
    assert found.margin == pytest.approx(1 - 4.0 * G * 3 / math.tan(math.radians(12)) / 1000.0)


def test_a_lever_that_rises_to_a_dead_centre_is_weakest_at_its_end() -> None:
    # The distance of the line of push from the pivot goes to nothing there (see test_closed_forms).
    swing = Swing(0.2, 0.6, math.radians(-180), math.radians(-60), math.radians(-3))
    found = weakest(alone(SwungArm(swing, 0.9, 2.7)), 1000.0)
    assert found.x_m == pytest.approx(swing.out_m)


@settings(deadline=None)
@given(linkages, st.sampled_from(("out", "home")))
def test_no_place_on_the_stroke_is_weaker(linkage: Linkage, toward: str) -> None:
    # Against SciPy's bounded minimiser about the worst of 2,000 even places.
    mechanism, sign = alone(linkage), 1 if toward == "out" else -1

    def load(x: float) -> float:
        return sign * mechanism.load_at(float(x), sign)[2]

    found = weakest(mechanism, 500.0, toward)
    near = max(np.linspace(0, mechanism.out_m, 2001), key=load)
    step = mechanism.out_m / 2000
    bounds = (max(near - step, 0), min(near + step, mechanism.out_m))
    best = minimize_scalar(lambda x: -load(x), bounds=bounds, method="bounded", options={"xatol": 1e-12})
    worst = max(load(near), -best.fun)
    assert found.load_n >= worst - 1e-7 * max(abs(worst), 1.0)
    assert found.load_n == pytest.approx(load(found.x_m))
    assert found.margin == pytest.approx(1 - found.load_n / 500.0)


@settings(deadline=None)
@given(linkages, st.floats(0.1, 0.7))
def test_the_spring_that_is_said_to_help_brings_just_the_margin(linkage: Linkage, margin: float) -> None:
    mechanism = alone(linkage)
    push = weakest(mechanism, 1.0).load_n
    assume(push > 1.0)
    spring = what_helps(mechanism, push, margin).spring_n
    with_spring = together(mechanism, alone(OutsideSpring(0.0, spring, pushes_home=False)))
    assert weakest(with_spring, push).margin == pytest.approx(margin, abs=1e-6)
    less = together(mechanism, alone(OutsideSpring(0.0, 0.98 * spring, pushes_home=False)))
    assert weakest(less, push).margin < margin


def test_where_the_margin_is_there_nothing_is_asked_for() -> None:
    found = what_helps(alone(gate()), 5000.0, 0.5)
    assert (found.spring_n, found.attachment) == (0.0, None)


@settings(deadline=None, max_examples=40)
@given(arms(), st.floats(0.1, 0.5))
def test_the_attachment_that_is_said_to_help_does_and_a_nearer_one_does_not(arm: SwungArm, margin: float) -> None:
    assume(arm.swing.home_m >= arm.out_m)
    mechanism = alone(arm, arm.out_m)
    load = weakest(mechanism, 1.0).load_n
    assume(load > 1.0)
    found = what_helps(mechanism, load, margin).attachment
    assume(found is not None)
    moved = arm.with_rod_at(found.rod_at_m)
    assert found.stroke_m == pytest.approx(moved.out_m)
    assert weakest(alone(moved), load).margin >= margin - 1e-9
    nearer = arm.with_rod_at(found.rod_at_m + 1e-4 * (arm.swing.rod_at_m - found.rod_at_m))
    # A nearer one gives too little, or takes a cylinder that is longer closed than its pins are apart.
    assert moved.swing.home_m >= max(arm.out_m, moved.out_m)
    too_near = nearer.swing.home_m < max(arm.out_m, nearer.out_m)
    assert too_near or weakest(alone(nearer), load).margin < margin


def test_a_pin_further_out_helps_and_takes_more_stroke() -> None:
    # The law of the lever: the push goes further and weighs less. No stroke to spare: only a longer one helps.
    tight, roomy = alone(gate(), gate().out_m), alone(gate(), 0.25)
    load = weakest(tight, 1.0).load_n
    longer, within = (what_helps(mechanism, load, 0.2).attachment for mechanism in (tight, roomy))
    assert longer is not None and longer.stroke_m > tight.stroke_m
    assert within is not None and within.stroke_m <= roomy.stroke_m and within.rod_at_m > 0.2


def test_no_attachment_is_named_for_which_no_cylinder_is_short_enough() -> None:
    # The stroke fills the 0.529 m between the pins, and the rod's pin a little further out brings them nearer.
    assert gate(0.25).swing.home_m < gate().swing.home_m
    full = alone(gate(), gate().swing.home_m)
    load = weakest(full, 1.0).load_n
    found = what_helps(full, load, 0.2).attachment
    assert found is not None and gate(found.rod_at_m).swing.home_m >= full.stroke_m
    assert what_helps(alone(gate(), 0.25), load, 0.2).attachment is not None


def test_a_weakest_place_amid_the_stroke_is_found_between_the_places_tried() -> None:
    # Against SciPy's bounded minimiser; 8 places alone would miss it by up to a sixteenth of the stroke.
    arm = SwungArm(Swing(0.46, 0.34, -1.89, -3.5, -4.59), 0.8, 3.0)
    best = minimize_scalar(lambda x: -arm.terms(x)[2], bounds=(0.02, 0.12), method="bounded", options={"xatol": 1e-12})
    found = weakest(alone(arm), 200.0, places=8)
    assert 0.1 * arm.out_m < found.x_m < 0.9 * arm.out_m
    assert found.x_m == pytest.approx(best.x, abs=1e-5)
    assert found.load_n == pytest.approx(-best.fun, rel=1e-12)


def test_a_four_bar_is_helped_by_another_pin_on_its_crank() -> None:
    swing = Swing(0.1, 0.4, math.radians(-60), math.radians(30), math.radians(80))
    bars = SwungBars(swing, Bars(0.5, 0.2, 0.45, 0.25), 3.0)
    load = weakest(alone(bars, 0.1), 1.0).load_n
    found = what_helps(alone(bars, 0.1), load, 0.3).attachment
    assert found is not None
    pinned = replace(bars, swing=replace(swing, rod_at_m=found.rod_at_m))
    assert weakest(alone(pinned), load).margin >= 0.3 - 1e-9


def test_nothing_that_swings_has_no_attachment_to_move() -> None:
    found = what_helps(alone(StraightLoad(10.0, math.radians(90)), 0.3), 100.0, 0.3)
    assert found.attachment is None
    assert found.spring_n == pytest.approx(10.0 * G - 70.0)


@pytest.mark.parametrize("push", [0.0, -5.0, math.nan])
def test_a_push_that_is_none_has_no_margin(push: float) -> None:
    with pytest.raises(ValueError, match="no margin"):
        weakest(alone(gate()), push)
