"""The geometry of what cylinders drive, against figures that are not ours."""

from __future__ import annotations

import math
from typing import Any

import pytest

LEVER = "on ram, rod 30 cm from the pivot, cylinder 40 cm from the pivot at 0 deg, carries 2 kg, arm 60 cm"


def test_a_right_angle_between_rod_and_base_is_a_three_four_five_triangle(make: Any) -> None:
    # Euclid, Elements I.47: sides 3 and 4 at a right angle span 5.
    lever = make("lever", f"{LEVER}, swings from 20 deg to 90 deg")
    assert lever.pin_to_pin_m(math.pi / 2) == pytest.approx(0.5)
    assert lever.pin_to_pin_m(math.pi) == pytest.approx(0.7), "straight beyond the pivot the two add up"
    assert lever.stroke_used_m == pytest.approx(0.5 - lever.pin_to_pin_m(math.radians(20)))


def test_a_square_four_bar_spans_its_diagonal(make: Any) -> None:
    # The diagonal of a unit square is the square root of 2 (Euclid, Elements X, end).
    bars = make(
        "fourbar",
        "on ram, rod 5 cm from the pivot, cylinder 40 cm from the pivot at -90 deg, carries 1 kg",
        "swings from 60 deg to 80 deg, ground 10 cm, crank 10 cm, coupler 10 cm, rocker 10 cm",
    )
    assert bars.gap_m(math.pi / 2) == pytest.approx(0.1 * math.sqrt(2))


def test_a_scissor_of_two_stages_at_thirty_degrees_is_one_link_high(make: Any) -> None:
    # The sine of 30 degrees is one half.
    lift = make("scissor", "on ram, stages 2, links 40 cm, opens from 10 deg to 60 deg, carries 5 kg")
    assert lift.height_m(math.radians(30)) == pytest.approx(0.4)
    assert lift.base_travel_m == pytest.approx(0.4 * (math.cos(math.radians(10)) - 0.5))


def test_a_rope_loses_at_every_pulley(make: Any) -> None:
    rope = make(
        "rope", "on ram, carries 2 kg, length 3 m, multiplies 2 times, pulleys 2, each pulley loses 10 %"
    )
    assert rope.efficiency == pytest.approx(0.81)
    assert make("rope", "on ram, carries 2 kg, length 3 m").efficiency == 1


def test_a_spring_follows_hooke_until_it_is_slack(make: Any) -> None:
    # Hooke's law: 2 N/mm over 50 mm is 100 N.
    home = make("spring", "on ram, rate 2 N/mm, preload 30 N, pushes home")
    assert home.force_n(0.05) == pytest.approx(-130)
    out = make("spring", "on ram, rate 2 N/mm, preload 30 N, pushes out")
    assert out.force_n(0.01) == pytest.approx(10)
    assert out.force_n(0.05) == 0


def test_a_slide_has_no_friction_but_what_is_said(make: Any) -> None:
    slide = make("slide", "on ram, carries 12 lb, rises 20 deg, rubs 5 %")
    assert (slide.rubs.si, slide.drag.si) == (pytest.approx(0.05), 0)
