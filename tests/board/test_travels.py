"""What a log times is what the rods took: the log of a run whose true times are known, and what is no whole stroke."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.board.log import LogEntry, LogKind, StartCause, entry_of
from sequencer.board.travels import RESTED_TICKS, travels
from sequencer.checks import check_file
from sequencer.dryrun.session import Session, Setup
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.steps.events import InputChanged

TRUE_OUT, TRUE_BACK = 0.812, 1.073
SHOW = f"""show "Timed"
board box like avr328
sensor step like mat: on box in0
compressor shed like compressor_20_gal
manifold bench on shed: ports 4
sensor there like reed_switch: on box in1, sees window.ram out
sensor at_home like reed_switch: on box in2, sees window.ram home
sensor mushroom like stop_mushroom: on box in3
prop window:
    air from bench port 1, tube 1/4 in, length 12 ft, regulator 60 psi
    reach none
    valve shove like valve_5_2_quarter: on box out2
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 12 in, moves 9 lb
        measured out {TRUE_OUT} s, back {TRUE_BACK} s
    scare lunge on step trips:
        +0.2 s to 0.9 s: ram extends
        +8 s:            ram retracts
        +2 s:            ram extends
        +200 ms:         ram retracts
stop on mushroom trips: window.ram retracts
"""


@pytest.fixture
def setup(tmp_path: Path) -> Setup:
    path = tmp_path / "timed.show"
    path.write_text(SHOW)
    return set_up_of(path)


def set_up_of(path: Path) -> Setup:
    checked = check_file(path)
    assert checked.compiled is not None, checked.findings
    return set_up(checked.compiled, checked.show)


def run(setup: Setup, trips: list[int], seed: int = 5) -> tuple[list[LogEntry], Session]:
    """The log of a board that was armed at tick 0, as the board writes it, and the run it is of."""
    session = Session(setup, seed)
    state = session._machine.random_state
    entries = [LogEntry(0, LogKind.RANDOM_LOW, 0, state & 0xFFFF), LogEntry(0, LogKind.RANDOM_HIGH, 0, state >> 16)]
    for tick in trips:
        session.add_trigger(Trigger("step", tick, tick + 300))
    session.advance(max(trips) + 15_000)
    entries += [entry for event in session.events if (entry := entry_of(event)) is not None]
    return entries, session


def test_whole_strokes_are_timed_to_the_tick_of_the_sensor(setup: Setup) -> None:
    entries, session = run(setup, [1000, 15_000, 30_000])
    found = travels(entries, setup)
    out = [one.seconds for one in found.timed if one.toward == "out"]
    back = [one.seconds for one in found.timed if one.toward == "home"]
    assert len(out) == len(back) == 3
    # A sensor sees the rod from the last hundredth of its stroke on, see `dryrun.motion`.
    assert out == pytest.approx([TRUE_OUT] * 3, rel=0.01, abs=0.001)
    assert back == pytest.approx([TRUE_BACK] * 3, rel=0.01, abs=0.001)
    sent = {(one.tick, one.way) for one in session.sent if one.tick}
    assert {(one.tick, one.toward) for one in found.timed} <= sent


def test_the_random_waits_of_a_scare_are_run_as_they_were(setup: Setup) -> None:
    """The line at `0.2 s to 0.9 s` comes at another time with each seed, and the log has only the seed's state."""
    begins = {travels(run(setup, [1000], seed)[0], setup).timed[0].tick for seed in range(1, 6)}
    assert len(begins) > 2


def test_a_stroke_cut_short_is_not_timed(setup: Setup) -> None:
    """The second way out of each scare is turned back after 0.2 s, long before it is there."""
    entries, session = run(setup, [1000])
    assert sum(one.way == "out" for one in session.sent) == 2
    assert sum(one.toward == "out" for one in travels(entries, setup).timed) == 1


def test_what_was_not_at_rest_is_counted_and_left_out(setup: Setup) -> None:
    """Without the trip of the sensor at home the rod may have stood anywhere."""
    entries, _ = run(setup, [1000])
    home = next(info.index for info in setup.yard.inputs if info.sensor == "at_home")
    blind = [entry for entry in entries if not (entry.kind == LogKind.INPUT and entry.subject == home)]
    found = travels(blind, setup)
    assert not [one for one in found.timed if one.toward == "out"]
    assert found.left_out == {"window.ram": 1}


def test_a_drive_by_hand_is_timed_as_it_was_logged(setup: Setup) -> None:
    coil = setup.spools[0].coil
    there = next(info.index for info in setup.yard.inputs if info.sensor == "there")
    settle = setup.program.inputs[there].settle
    entries = [LogEntry(5000, LogKind.DRIVEN, coil, 255), LogEntry(5431 + settle, LogKind.INPUT, there, 1)]
    ends = tuple(end for end in setup.rods[0].ends if end[0] == there)
    from dataclasses import replace

    alone = replace(setup, rods=(replace(setup.rods[0], ends=ends),))
    assert [one.seconds for one in travels(entries, alone).timed] == [0.431]
    again = [LogEntry(5000 - RESTED_TICKS + 1, LogKind.DRIVEN, coil, 255), *entries]
    assert travels(again, alone).left_out == {"window.ram": 1}


def test_a_board_that_was_switched_off_between_begins_its_ticks_anew(setup: Setup) -> None:
    one, _ = run(setup, [1000])
    other, _ = run(setup, [2000], seed=9)
    again = LogEntry(0, LogKind.POWERED_UP, StartCause.POWER, 1)
    both = travels([*one, again, *other], setup)
    assert both.timed == (*travels(one, setup).timed, *travels(other, setup).timed)
    new = LogEntry(0, LogKind.POWERED_UP, StartCause.COMMIT, 2)
    assert travels([*one, new, *other], setup).timed == travels(other, setup).timed, "another program ran before"


def test_a_log_of_nothing_times_nothing(setup: Setup) -> None:
    assert travels([], setup).timed == ()
    strange = [LogEntry(5, 99, 255, 65535), LogEntry(6, LogKind.INPUT, 250, 1), LogEntry(7, LogKind.DRIVEN, 250, 255),
               LogEntry(8, LogKind.RANDOM_LOW, 0, 0), LogEntry(8, LogKind.RANDOM_HIGH, 0, 0)]
    assert travels(strange, setup).timed == ()


def test_a_trip_is_an_event_of_the_run(setup: Setup) -> None:
    _, session = run(setup, [1000])
    assert any(isinstance(event, InputChanged) for event in session.events)
