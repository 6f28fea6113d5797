"""What a builder writes behind --trip, and what is said when it cannot be read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.dryrun.triggers import LONGEST_RUN, Slip, Trigger, read_ticks, read_trigger, read_triggers

SENSORS = ("step", "mat", "window.ram_home", "window.ram_out", "drain.ram_out")


@pytest.mark.parametrize(
    ("word", "begins", "ends"),
    [
        ("step@2s", 2000, 2200),
        ("step@0s", 0, 200),
        ("step@250ms", 250, 450),
        ("step@1.5 min", 90_000, 90_200),
        ("step@3.5s..4s", 3500, 4000),
        ("step @ 3.5 s .. 4 s", 3500, 4000),
        ("step@999ms..1s", 999, 1000),
    ],
)
def test_a_trigger_is_read_to_the_tick(word: str, begins: int, ends: int) -> None:
    assert read_trigger(word, SENSORS) == Trigger("step", begins, ends)


def test_the_last_part_of_a_name_does_where_only_one_sensor_has_it() -> None:
    assert read_trigger("ram_home@1s", SENSORS) == Trigger("window.ram_home", 1000, 1200)
    slip = read_trigger("ram_out@1s", SENSORS)
    assert isinstance(slip, Slip)
    assert "window.ram_out or drain.ram_out" in slip.sentence


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("step", "such as `step@2s`"),
        ("@2s", "such as `step@2s`"),
        ("step@", "such as `step@2s`"),
        ("step@2", "write 2s or 2ms"),
        ("step@2s..4", "write 4s or 4ms"),
        ("step@2s..", "is not a time"),
        ("step@..2s", "is not a time"),
        ("step@4s..2s", "not after 4s"),
        ("step@2s..2s", "not after 2s"),
        ("step@-2s", "is not a time"),
        ("step@2 psi", "not a unit of time"),
        ("step@soon", "is not a time"),
        ("step@7h", "beyond 6 h"),
        ("setp@2s", "did you mean step?"),
        ("bell@2s", "the sensors are step, mat"),
        ("step@1/0 s", "is not a time"),
        ("step@2s@3s", "is not a time"),
    ],
)
def test_a_slip_is_said_with_what_to_write(word: str, says: str) -> None:
    slip = read_trigger(word, SENSORS)
    assert isinstance(slip, Slip)
    assert says in slip.sentence


def test_a_show_without_sensors_says_so() -> None:
    slip = read_trigger("step@2s", ())
    assert isinstance(slip, Slip)
    assert "no sensors" in slip.sentence


def test_triggers_come_out_by_time_with_every_slip() -> None:
    triggers, slips = read_triggers(["mat@3s", "step@2s", "setp@1s", "mat@x"], SENSORS)
    assert [one.sensor for one in triggers] == ["step", "mat"]
    assert len(slips) == 2


@given(st.integers(0, LONGEST_RUN))
def test_every_whole_millisecond_is_its_own_tick(ticks: int) -> None:
    assert read_ticks(f"{ticks} ms") == ticks
    assert read_ticks(f"{ticks // 1000}.{ticks % 1000:03d}s") == ticks


@given(st.text(max_size=30))
def test_any_word_is_read_or_answered(word: str) -> None:
    answer = read_trigger(word, SENSORS)
    assert isinstance(answer, Slip | Trigger)
