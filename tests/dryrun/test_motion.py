"""Where a rod stands: strokes of 0.4 s out and 0.9 s home with a lead of 60 ms, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.dryrun.motion import Movement, Rod
from tests.dryrun.yards import Even, rod, standing


def test_a_rod_waits_for_the_lead_and_then_goes_evenly() -> None:
    one = Rod(rod())
    one.command(1000, "out")
    assert one.position(1_060_000) == 0
    assert one.position(1_260_000) == pytest.approx(0.5)
    assert one.position(1_460_000) == 1
    assert one.position(9_000_000) == 1
    assert one.movements == [Movement("window.ram", "out", 1000, 1060, 1460, 0.0, 1.0)]


def test_a_rod_turns_midway_from_where_it_is() -> None:
    """Sent out at 1 s it stands at 0.25 at 1.16 s; sent home then, it goes on for the lead of 60 ms to 0.40
    and needs 0.4 x 0.9 s = 0.36 s from there."""
    one = Rod(rod())
    one.command(1000, "out")
    cut = one.command(1160, "home")
    assert one.position(1_220_000) == pytest.approx(0.40)
    assert one.position(1_400_000) == pytest.approx(0.20)
    assert one.position(1_580_000) == pytest.approx(0.0)
    assert cut is not None and cut.cut and cut.ends == 1220 and cut.reached == pytest.approx(0.40)
    assert [one.toward for one in one.movements] == ["out", "home"]


def test_a_rod_that_arrives_within_the_lead_of_the_next_command_was_not_cut_short() -> None:
    one = Rod(rod())
    one.command(1000, "out")
    assert one.command(1420, "home") is None
    assert one.position(1_470_000) == 1
    assert one.position(1_480_000 + 900_000) == pytest.approx(0)


def test_a_command_taken_back_before_the_valve_answers_moves_nothing() -> None:
    one = Rod(rod())
    one.command(1000, "out")
    one.command(1015, "home")
    assert one.position(5_000_000) == 0
    assert one.movements == []
    assert one.air_until_std_l(5_000_000) == 0


def test_a_held_rod_stops_where_the_valve_has_closed() -> None:
    """The valve answers in 20 ms; at 1.26 s the rod is at 0.5, at 1.28 s at 0.55, and there it stays."""
    one = Rod(rod())
    one.command(1000, "out")
    one.command(1260, "holds")
    assert one.position(9_000_000) == pytest.approx(0.55)


def test_vented_ends_leave_a_double_acting_rod_and_bring_a_single_acting_one_home() -> None:
    for alone, stands in ((False, 1.0), (True, 0.0)):
        one = Rod(rod(weight_brings_home=alone, going=standing(Even(vents_home=alone))))
        one.command(0, "out")
        one.command(1000, "vented")
        assert one.position(9_000_000) == stands


def test_sensors_see_the_rod_within_one_percent_of_an_end() -> None:
    """Out: leaves at 60 ms, passes 1 % at 64 ms, 99 % at 456 ms."""
    one = Rod(rod(ends=((1, True), (2, False))))
    assert one.at_end(0, out=False) and not one.at_end(0, out=True)
    one.command(0, "out")
    assert one.changes_after(0) == [(65, 2, False), (456, 1, True)]


def test_a_reversal_takes_back_what_the_sensors_were_to_see() -> None:
    one = Rod(rod(ends=((1, True), (2, False))))
    one.command(0, "out")
    one.command(160, "home")
    assert one.changes_after(160) == [(220 + 351, 2, True)]


@given(
    st.lists(st.tuples(st.integers(1, 700), st.sampled_from(["out", "home", "holds", "vented"])), max_size=25)
)
def test_a_rod_never_jumps_and_never_leaves_its_stroke(commands: list[tuple[int, str]]) -> None:
    one = Rod(rod(ends=((1, True), (2, False))))
    tick = 0
    for gap, way in commands:
        tick += gap
        one.command(tick, way)
    times = [us for us, _ in one.points]
    assert times == sorted(set(times))
    for (begin, start), (end, stop) in zip(one.points, one.points[1:], strict=False):
        assert 0 <= stop <= 1
        # Both ends are rounded to a microsecond.
        assert abs(stop - start) <= (end - begin + 2) / 400_000
