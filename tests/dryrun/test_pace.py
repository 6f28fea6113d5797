"""Runs in real time, with a clock and keys that the test holds."""

from __future__ import annotations

import os
import pty
from collections.abc import Iterator

import pytest

from sequencer.dryrun.keyboard import NoKeyboard, PosixKeys, keys_of
from sequencer.dryrun.pace import Pace, map_keys, run_paced
from sequencer.dryrun.session import Session
from sequencer.dryrun.timeline import InputInfo, Timeline
from sequencer.steps import InputKind, Mode, OutputEdge
from sequencer.steps.events import InputChanged, ModeChanged, Started
from tests.dryrun.yards import INPUTS, LUNGE, setup_of


class FakeTime:
    """A clock that goes on by what was waited for, and keys that are pressed at given times."""

    def __init__(self, *presses: tuple[float, str]) -> None:
        self.seconds = 100.0
        self.presses = [(100.0 + at, key) for at, key in presses]

    def now(self) -> float:
        return self.seconds

    def read(self, timeout_s: float) -> str | None:
        for waited in (0.0, timeout_s):
            self.seconds += waited
            if self.presses and self.presses[0][0] <= self.seconds:
                return self.presses.pop(0)[1]
        return None


def paced(*presses: tuple[float, str], until: int | None = None) -> tuple[Timeline, list, list[str]]:
    time, said, answers = FakeTime(*presses), [], []
    session = Session(setup_of(LUNGE), 7)
    pace = Pace(
        time,
        time,
        lambda happening: said.append((round(time.seconds - 100, 3), happening)),
        answers.append,
        until,
    )
    return run_paced(session, map_keys(INPUTS), pace), said, answers


def test_keys_are_letters_in_order_without_q_and_rods_have_none() -> None:
    many = [InputInfo(i, f"s{i}", InputKind.TRIGGER) for i in range(40)]
    assert "q" not in map_keys(many).trips
    assert len(map_keys(many).trips) == 34
    assert map_keys(INPUTS).trips == {"a": 0, "b": 3}


def test_a_key_starts_the_scare_and_the_run_lasts_as_long_as_the_clock() -> None:
    timeline, _, _ = paced((1.0, "a"), (8.0, "q"))
    started = [event.tick for event in timeline.events if isinstance(event, Started)]
    assert len(started) == 1
    assert 1020 <= started[0] <= 1050
    assert 7990 <= timeline.ticks <= 8020


def test_a_key_that_is_pressed_at_once_counts() -> None:
    timeline, _, _ = paced((0.0, "a"), (3.0, "q"))
    assert len([event for event in timeline.events if isinstance(event, Started)]) == 1


def test_what_happens_is_said_when_it_happens() -> None:
    _, said, _ = paced((1.0, "a"), (5.0, "q"))
    edges = [(at, one.tick) for at, one in said if isinstance(one, OutputEdge)]
    assert edges
    assert all(0 <= at - tick / 1000 <= 0.021 for at, tick in edges)


@pytest.mark.parametrize("key", ["q", "\x1b", "\x03"])
def test_each_of_three_keys_leaves(key: str) -> None:
    timeline, _, _ = paced((0.5, key))
    assert timeline.ticks <= 520


def test_ctrl_c_as_an_interrupt_leaves_with_the_timeline() -> None:
    class Interrupted(FakeTime):
        def read(self, timeout_s: float) -> str | None:
            if self.seconds > 101:
                raise KeyboardInterrupt
            return super().read(timeout_s)

    time = Interrupted()
    session = Session(setup_of(LUNGE), 7)
    timeline = run_paced(session, map_keys(INPUTS), Pace(time, time, lambda _: None, lambda _: None))
    assert 900 <= timeline.ticks <= 1100


def test_space_trips_the_stop_input_and_return_arms_again() -> None:
    timeline, _, answers = paced((1.0, "a"), (2.0, " "), (2.05, "\r"), (3.0, "\r"), (4.0, "q"))
    modes = [event.mode for event in timeline.events if isinstance(event, ModeChanged)]
    assert modes == [Mode.ARMED, Mode.STOPPED, Mode.ARMED]
    assert answers == ["not armed: a stop input is tripped"]


def test_a_capital_letter_holds_until_the_key_comes_again() -> None:
    timeline, _, answers = paced((1.0, "A"), (3.0, "a"), (4.0, "q"))
    changes = [event for event in timeline.events if isinstance(event, InputChanged) and event.input == 0]
    assert [event.tripped for event in changes] == [True, False]
    assert 1990 <= changes[1].tick - changes[0].tick <= 2010
    assert answers == ["step held; the same key lets go", "step let go"]


def test_a_key_that_trips_nothing_is_answered() -> None:
    _, _, answers = paced((1.0, "z"), (1.5, "\x00"), (2.0, "q"))
    assert answers == ["the key 'z' trips nothing", "that key trips nothing"]


def test_a_length_ends_it_without_a_key() -> None:
    timeline, _, _ = paced(until=1500)
    assert timeline.ticks == 1500


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    ours, theirs = pty.openpty()
    yield ours, theirs
    os.close(ours)
    os.close(theirs)


def test_keys_of_a_terminal_come_one_by_one_and_arrows_are_no_esc(terminal: tuple[int, int]) -> None:
    ours, theirs = terminal
    with os.fdopen(theirs, closefd=False) as stream, keys_of(stream) as keys:
        os.write(ours, b"a")
        assert keys.read(1.0) == "a"
        assert keys.read(0.01) is None
        os.write(ours, b"\x1b[A")
        assert keys.read(1.0) == "\x00"
        os.write(ours, b"\x1b")
        assert keys.read(1.0) == "\x1b"
        os.write(ours, "é".encode())
        assert keys.read(1.0) == "é"


def test_the_terminal_is_put_back_as_it_was(terminal: tuple[int, int]) -> None:
    import termios

    _, theirs = terminal
    before = termios.tcgetattr(theirs)
    with os.fdopen(theirs, closefd=False) as stream, pytest.raises(RuntimeError), keys_of(stream):
        assert termios.tcgetattr(theirs) != before
        raise RuntimeError
    assert termios.tcgetattr(theirs) == before


def test_without_a_terminal_there_is_no_keyboard() -> None:
    read, write = os.pipe()
    with os.fdopen(read) as stream, os.fdopen(write, "w"), pytest.raises(NoKeyboard), keys_of(stream):
        pass


def test_a_closed_line_is_as_if_the_person_had_left() -> None:
    read, write = os.pipe()
    os.close(write)
    assert PosixKeys(read).read(0.1) == "\x1b"
    os.close(read)
