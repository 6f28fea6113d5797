"""Where a rope goes slack: against free fall in closed form."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.slack import slack_of

G = 9.80665
Samples = list[tuple[float, float, float]]


def rope(times: int = 1, pulls_out: bool = True) -> RopeLift:
    return RopeLift(3.0, times, 1.0, pulls_out)


def even(begin: float, end: float, takes: float) -> Samples:
    """Evenly from one place to another, and stopped dead there."""
    v = (end - begin) / takes
    steps = [(takes * n / 50, begin + (end - begin) * n / 50, v) for n in range(51)]
    return [*steps, (takes, end, 0.0), (takes + 0.1, end, 0.0)]


def flung(begin: float, end: float, takes: float) -> Samples:
    """From rest, faster and faster, and stopped dead at the end."""
    way = end - begin
    steps = [(takes * n / 50, begin + way * (n / 50) ** 2, 2 * way * n / 50 / takes) for n in range(51)]
    return [*steps, (takes, end, 0.0), (takes + 0.1, end, 0.0)]


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 3.0), st.integers(1, 3))
def test_a_piece_that_is_stopped_dead_flies_on(speed: float, times: int) -> None:
    """Thrown up at v it rises v^2 / 2 g, is away for 2 v / g, and comes down at v."""
    v = speed * times
    found = slack_of(rope(times), even(0.0, 0.8, 0.8 / speed))
    one = found[-1]
    assert one.gap_m == pytest.approx(v * v / 2 / G, rel=0.02)
    assert one.lasts_s == pytest.approx(2 * v / G, abs=2e-3)
    assert one.meets_m_s == pytest.approx(v, abs=G * 1e-3)
    assert one.at_s == pytest.approx(0.8 / speed, abs=1e-3)


@pytest.mark.parametrize("height", [0.1, 0.4, 0.9])
def test_a_piece_that_is_let_go_at_once_falls_freely(height: float) -> None:
    """The rod gives all the rope within 5 ms: the piece lands after the root of 2 h / g, at the root of 2 g h."""
    one, = slack_of(rope(), flung(height, 0.0, 0.005))
    assert one.lasts_s == pytest.approx(math.sqrt(2 * height / G), abs=2e-3)
    assert one.meets_m_s == pytest.approx(math.sqrt(2 * G * height), rel=0.01)
    assert one.gap_m == pytest.approx(height, rel=0.01)


def test_a_rope_let_out_more_gently_than_a_fall_stays_straight() -> None:
    """Down at 0.9 g for 0.2 s, then braked at as much."""
    def place(t: float) -> tuple[float, float]:
        a = 0.9 * G
        if t < 0.2:
            return 0.6 - a * t * t / 2, -a * t
        late = min(t, 0.4) - 0.2
        return 0.6 - a * 0.02 - a * 0.2 * late + a * late * late / 2, -a * 0.2 + a * late

    samples = [(n / 200, *place(n / 200)) for n in range(101)]
    assert slack_of(rope(), samples) == ()
    # A tenth more than a fall, and it does go slack.
    assert slack_of(rope(), [(t, 0.6 - (0.6 - x) * 1.25, v * 1.25) for t, x, v in samples])


def test_a_rope_that_pulls_while_the_rod_goes_home_is_slack_on_the_way_out() -> None:
    one, = slack_of(rope(pulls_out=False), flung(0.0, 1.0, 0.005))
    assert one.gap_m == pytest.approx(1.0, rel=0.01)
