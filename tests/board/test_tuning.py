"""The error of a board's clock from the times of its answers, and what is said of a clock that cannot be corrected."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.board.link import BoardClock, Traffic
from sequencer.board.settings import TRIM_UNIT
from sequencer.board.tuning import ClockBeyondTrim, ClockNotMeasured, measure_clock, tune


class Drifting:
    """A link and a clock in one: a board whose time runs `error` fast, behind a line with delays of its own."""

    def __init__(self, error: float, seed: int = 1, delay: float = 0.0015, jitter: float = 0.002) -> None:
        self.error, self.delay, self.jitter = error, delay, jitter
        self.draws = random.Random(seed)
        self.seconds = 5.0
        self.kept: int | None = None
        self.traffic = Traffic()
        self.counted = self.draws.uniform(0, 1e6)

    def now(self) -> float:
        return self.seconds

    def wall_ms(self) -> int:
        return round(1000 * self.seconds)

    def sleep(self, seconds: float) -> None:
        self.seconds += seconds
        self.counted += 1000 * seconds * (1 + self.error) / (1 + (self.kept or 0) * TRIM_UNIT)

    def trim(self, keep: int | None = None) -> BoardClock:
        self.sleep(self.delay + self.jitter * self.draws.random() ** 3)
        self.kept = self.kept if keep is None else keep
        tick = math.floor(self.counted)
        self.sleep(1.6 * self.delay + self.jitter * self.draws.random() ** 3)
        return BoardClock(tick, self.kept or 0, self.kept is not None)


@given(st.floats(-0.006, 0.006), st.integers(0, 1000), st.floats(0, 0.005), st.floats(0, 0.02))
def test_the_truth_is_within_the_bound_whatever_the_delays(error, seed, delay, jitter):
    board = Drifting(error, seed, delay + 0.0001, jitter)
    found = measure_clock(board, 10, board)
    assert abs(found.error - error) <= found.bound + 1e-9


@given(st.floats(-0.006, 0.006), st.integers(0, 1000))
def test_twenty_seconds_leave_less_than_fifty_millionths(error, seed):
    board = Drifting(error, seed)
    tune(board, 20, board)
    assert abs((1 + error) / (1 + board.kept * TRIM_UNIT) - 1) < 50e-6


def test_tuning_again_changes_hardly_anything():
    board = Drifting(0.005)
    tune(board, 20, board)
    first = board.kept
    again = tune(board, 20, board)
    assert abs(board.kept - first) < 40
    assert abs(again.found.error) < 40e-6


def test_a_clock_that_is_two_percent_off_is_called_broken_and_left():
    board = Drifting(0.02)
    with pytest.raises(ClockBeyondTrim, match=r"2.00 % fast.*1.6 %"):
        tune(board, 5, board)
    assert board.kept is None


def test_a_board_that_starts_anew_meanwhile_gives_no_measurement():
    board = Drifting(0.0)
    board.counted = 50_000.0
    slept = board.sleep

    def sleep(seconds: float) -> None:
        slept(seconds)
        if seconds >= 0.2:
            board.counted = 0.0
            board.sleep = slept

    board.sleep = sleep
    with pytest.raises(ClockNotMeasured):
        measure_clock(board, 5, board)
