"""A rod that goes on from command to command: nothing is lost between them, and it is the motion itself."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.course import course_at_rest, points_of
from sequencer.air.from_rig import command_of, cylinder_air, unknowns_of, ways_of
from sequencer.air.gas import std_l_of_kg
from sequencer.air.motion import move
from sequencer.air.request import described_by
from sequencer.air.stroke import predict_stroke
from tests.air.test_stroke import MEASURED, cylinder, request

WAYS = ("out", "home", "holds", "vented")


def place(points: tuple[tuple[int, float], ...], us: float) -> float:
    before = next(((t, x) for t, x in reversed(points) if t <= us), points[0])
    after = next(((t, x) for t, x in points if t > us), points[-1])
    if after[0] <= before[0]:
        return before[1]
    return before[1] + (after[1] - before[1]) * (us - before[0]) / (after[0] - before[0])


def test_a_course_goes_where_the_stroke_says() -> None:
    asked = request(**MEASURED)
    stroke, course = predict_stroke(asked), course_at_rest(asked, "home").turned(5_000_000, "out")
    assert course.leaves_us == pytest.approx(stroke.lead_us, abs=200)
    assert course.ends_us == pytest.approx(stroke.end_us, abs=200)
    for fraction in (0.1, 0.5, 0.9):
        assert place(course.points, stroke.arrival_us(fraction)) == pytest.approx(fraction, abs=3e-3)
    assert course.air_until_std_l(10_000_000) == pytest.approx(stroke.free_air_std_l, rel=1e-3)
    assert (course.toward, course.stops_us) == ("out", None)


def test_a_turn_midway_is_the_motion_of_all_its_commands() -> None:
    """The same three commands in one run of the solver, and taken up each where the last one was left."""
    described = described_by(request())
    air, valve = cylinder_air(described, unknowns_of(described.cylinder), "out"), described.valve
    told = [(0.1, "out"), (0.35, "home"), (0.5, "out")]
    whole = move(air, ways_of(valve, "home"), [command_of(valve, way, at) for at, way in told], 3.0)
    course, at, drawn = course_at_rest(request(), "home"), 0.0, 0.0
    for then, way in told:
        drawn += course.air_until_std_l((then - at) * 1e6)
        course, at = course.turned(round((then - at) * 1e6), way), then
        for later in (0.05, 0.1, 0.14):
            assert place(course.points, later * 1e6) == pytest.approx(whole.x_at(then + later) / 0.3, abs=3e-3)
    drawn += course.air_until_std_l(5e6)
    assert drawn == pytest.approx(std_l_of_kg(whole.run.supplied_kg), rel=0.01)


def test_a_rod_under_way_says_when_it_stops_or_turns() -> None:
    going = course_at_rest(request(), "home").turned(0, "out")
    turned = going.turned(200_000, "home")
    assert turned.stops_us is not None and turned.leaves_us is not None
    assert 0 < turned.stops_us <= turned.leaves_us
    assert turned.points[-1][1] == pytest.approx(0.0, abs=1e-9)
    held = going.turned(200_000, "holds")
    assert held.leaves_us is None
    assert 0.05 < held.points[-1][1] < 0.95


def test_weight_brings_a_vented_rod_home_and_a_level_one_stays() -> None:
    for lifts, stands in (("90 deg", 0.0), ("0 deg", 1.0)):
        asked = replace(request(), cylinder=cylinder(moves="15 kg", lifts=lifts), start=1.0)
        fallen = course_at_rest(asked, "out").turned(1_000_000, "vented")
        assert fallen.points[-1][1] == pytest.approx(stands, abs=1e-6)


def test_what_comes_again_is_reckoned_once() -> None:
    course = course_at_rest(request(), "home")
    first = course.turned(3_000_000, "out").turned(3_000_000, "home")
    again = first.turned(3_000_000, "out").turned(3_000_000, "home")
    assert first.turned(3_000_000, "out") is again.turned(3_000_000, "out")


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.integers(1_000, 900_000), st.sampled_from(WAYS)), min_size=1, max_size=5))
def test_a_rod_never_jumps_never_leaves_its_stroke_and_never_makes_air(commands: list[tuple[int, str]]) -> None:
    course, where = course_at_rest(request(), "home"), 0.0
    for gap, way in commands:
        where = place(course.points, gap)
        course = course.turned(gap, way)  # type: ignore[arg-type]
        assert course.points[0][1] == pytest.approx(where, abs=3e-3)
        assert all(0 <= x <= 1 for _, x in course.points)
        times = [us for us, _ in course.points]
        assert times == sorted(set(times))


def test_a_line_of_corners_is_near_every_step() -> None:
    course = course_at_rest(request(), "home").turned(0, "out")
    points = points_of(course.rod, course.trace, course.told_s)
    for t, x, *_ in course.trace.run.samples:
        if t > course.told_s:
            assert place(points, (t - course.told_s) * 1e6) == pytest.approx(x / 0.3, abs=2.1e-3)
