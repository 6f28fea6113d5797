"""Short rows of numbers say the same as the long ones, within what they promise."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sequencer.pages.html.compare import spans
from sequencer.pages.html.pack import curve_of, gaps_of, steps_of, thinned
from tests.pages.html.made import at, curve

lines = st.lists(st.tuples(st.integers(1, 400), st.floats(0, 1)), min_size=2, max_size=60).map(
    lambda rows: [(float(sum(step for step, _ in rows[: at + 1])), value) for at, (_, value) in enumerate(rows)]
)


@given(lines, st.floats(0.0001, 0.3))
def test_a_thinned_line_is_nowhere_further_off_than_said(points: list[tuple[float, float]], off: float) -> None:
    kept = thinned(points, off)
    assert kept[0] == points[0] and kept[-1] == points[-1]
    assert set(kept) <= set(points)
    for time, value in points:
        assert abs(at(kept, time) - value) <= off + 1e-9


@given(st.integers(2, 200), st.floats(-1, 1))
def test_of_a_straight_line_only_its_ends_are_left(count: int, slope: float) -> None:
    straight = [(float(time), slope * time) for time in range(count)]
    assert thinned(straight, 1e-6) == [straight[0], straight[-1]]


def test_a_jump_stays_a_jump() -> None:
    points = [(0.0, 0.0), (10.0, 0.0), (10.0, 1.0), (20.0, 1.0)]
    assert thinned(points, 0.1) == points


@given(lines)
def test_a_packed_curve_is_within_half_a_per_cent_at_any_time(points: list[tuple[float, float]]) -> None:
    """Of a stroke whose rod takes 50 ms or more for all of it, which is faster than any here."""
    slow = [(time * 50, value) for time, value in points]
    unpacked = curve(curve_of(slow, 0.00025, 0.0025), 0.00025)
    for step in range(101):
        time = slow[0][0] + (slow[-1][0] - slow[0][0]) * step / 100
        assert abs(at(unpacked, time) - at(slow, time)) <= 0.005


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(1, 50), st.integers(0, 3)), max_size=20))
def test_stretches_come_back_as_they_were(rows: list[tuple[int, int, int]]) -> None:
    stretches, last = [], 0
    for gap, length, kind in rows:
        stretches.append((last + gap, last + gap + length, kind))
        last += gap + length
    assert list(spans(gaps_of(stretches), 3)) == stretches


def test_steps_count_from_the_row_before() -> None:
    assert steps_of([(5, 1), (9, 1)]) == [5, 1, 4, 1]
