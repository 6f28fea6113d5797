"""Power-up, arming, stop, alarm, link loss, drives by hand, inputs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from sequencer.steps import (
    Cause,
    Edge,
    Fault,
    FaultCode,
    Input,
    InputChanged,
    InputKind,
    Killed,
    Limits,
    Machine,
    Mode,
    ModeChanged,
    Output,
    Routine,
    Skipped,
    SkipReason,
    Start,
    Started,
)

Yard = Callable[..., Machine]
Make = Callable[..., Routine]
Edges = Callable[..., Any]
GUARDED = (Input(0), Input(1, kind=InputKind.STOP), Input(2, False, InputKind.ALARM))
RESTS = (Output(0, safe=0, alarm=0), Output(1, safe=255, alarm=0), Output(2, safe=0, alarm=255), Output(3))


def of(events: tuple[object, ...], kind: type) -> list[Any]:
    return [event for event in events if type(event) is kind]


def work_the_stop(machine: Machine) -> None:
    """Somebody presses it, and lets it go."""
    machine.set_input(1, False)
    machine.advance(machine.tick + 50)
    machine.set_input(1, True)
    machine.advance(machine.tick + 50)


def test_a_board_powers_up_disarmed_and_safe(yard: Yard) -> None:
    machine = yard(outputs=RESTS, armed=False)
    assert machine.mode is Mode.DISARMED
    assert machine.levels() == (0, 255, 0, 0)
    assert machine.advance(10_000) == ()
    assert machine.levels() == (0, 255, 0, 0)


def test_a_board_without_a_program_does_nothing_and_will_not_arm() -> None:
    machine = Machine(None, Limits(), 1)
    assert machine.arm() == "there is no program on the board"
    assert machine.drive(0, 255, 100) == "there is no output 0; the program has 0"
    assert machine.advance(1000) == ()
    assert machine.levels() == ()
    assert machine.next_due() is None


def test_a_program_that_does_not_verify_never_runs(program: Callable[..., Any], routine: Make) -> None:
    with pytest.raises(ValueError, match="may not run"):
        Machine(program(routine("set 30 1")), Limits(), 1)


def test_nothing_starts_while_disarmed(yard: Yard, routine: Make) -> None:
    machine = yard(
        routine("set 0 1", starts=(Start(0),), every=(5, 5)), routine("wait 1", idle=True), armed=False
    )
    machine.press(0, 50)
    assert of(machine.advance(500), Started) == []


def test_arming_twice_is_refused(yard: Yard) -> None:
    assert yard().arm() == "the board is armed already"


def test_time_does_not_run_backwards(yard: Yard) -> None:
    machine = yard()
    machine.advance(10)
    with pytest.raises(ValueError, match="is past"):
        machine.advance(9)


def test_advance_runs_up_to_and_not_including_its_tick(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 100", "set 0 1", starts=(Start(0),)))
    machine.press(0, 1)
    machine.advance(100)
    assert (machine.tick, machine.levels()[0], machine.next_due()) == (100, 0, 100)
    machine.advance(101)
    assert machine.levels()[0] == 255


def test_a_stop_input_kills_all_goes_safe_and_stays_until_armed(
    yard: Yard, routine: Make, edges: Edges
) -> None:
    machine = yard(
        routine("set 0 1", "set 1 0", "wait 5000", starts=(Start(0),)), inputs=GUARDED, outputs=RESTS
    )
    machine.press(0, 1)
    machine.advance(100)
    assert machine.levels() == (255, 0, 0, 0)
    machine.set_input(1, False)
    events = machine.advance(102)
    assert of(events, Killed) == [Killed(100, 0, Cause.STOP_INPUT)]
    assert of(events, ModeChanged) == [ModeChanged(100, Mode.STOPPED, Cause.STOP_INPUT)]
    assert edges(events, 0) == [(100, 0)]
    assert edges(events, 1) == [(100, 255)]
    assert machine.arm() == "a stop input is tripped"
    machine.set_input(1, True)
    machine.advance(200)
    assert machine.mode is Mode.STOPPED
    assert machine.drive(0, 255, 100) == "the board is stopped"
    machine.disarm()
    assert machine.mode is Mode.STOPPED
    assert machine.arm() is None


def test_a_stop_that_only_just_reads_tripped_refuses_arming(yard: Yard) -> None:
    machine = yard(inputs=(Input(0, kind=InputKind.STOP, settle=50),), armed=False)
    machine.advance(10)
    machine.set_input(0, False)
    assert machine.arm() == "a stop input is tripped"


def test_an_alarm_latches_and_puts_outputs_to_their_alarm_level(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", "wait 5000", starts=(Start(0),)), inputs=GUARDED, outputs=RESTS)
    machine.press(0, 1)
    machine.advance(50)
    machine.set_input(2, True)
    events = machine.advance(51)
    assert of(events, Killed) == [Killed(50, 0, Cause.ALARM_INPUT)]
    assert machine.levels() == (0, 0, 255, 0)
    assert machine.reset_alarm() == "the house alarm is still on"
    machine.set_input(2, False)
    machine.advance(100)
    assert machine.mode is Mode.ALARMED
    assert machine.arm() == "a house alarm is latched; reset it first"
    assert machine.reset_alarm() == "nobody has worked a stop at the board since the house alarm ended"
    work_the_stop(machine)
    assert machine.reset_alarm() is None
    machine.advance(201)
    assert machine.levels() == (0, 255, 0, 0)
    assert machine.reset_alarm() == "there is no alarm to reset"
    assert machine.arm() is None


def test_a_stop_that_was_worked_before_the_alarm_ended_or_over_the_link_resets_nothing(yard: Yard) -> None:
    machine = yard(inputs=GUARDED, outputs=RESTS)
    why_not = "nobody has worked a stop at the board since the house alarm ended"
    machine.set_input(2, True)
    machine.advance(50)
    work_the_stop(machine)
    machine.set_input(2, False)
    machine.advance(200)
    assert machine.reset_alarm() == why_not
    machine.press(1, 5)
    machine.advance(250)
    assert machine.reset_alarm() == why_not
    work_the_stop(machine)
    machine.set_input(2, True)
    machine.advance(400)
    machine.set_input(2, False)
    machine.advance(450)
    assert machine.reset_alarm() == why_not
    work_the_stop(machine)
    assert machine.reset_alarm() is None


def test_an_alarm_outranks_a_stop_whichever_comes_first(yard: Yard) -> None:
    for first, second in ((1, 2), (2, 1)):
        machine = yard(inputs=GUARDED, outputs=RESTS)
        machine.advance(10)
        machine.set_input(first, first == 2)
        machine.advance(20)
        machine.set_input(second, second == 2)
        machine.advance(30)
        assert machine.mode is Mode.ALARMED
        assert machine.levels() == (0, 0, 255, 0)


def test_stop_and_alarm_in_one_tick_come_in_that_order(yard: Yard) -> None:
    machine = yard(inputs=GUARDED)
    machine.advance(10)
    machine.set_input(1, False)
    machine.set_input(2, True)
    assert [event.mode for event in of(machine.advance(11), ModeChanged)] == [Mode.STOPPED, Mode.ALARMED]


def test_a_stop_beats_a_trigger_of_the_same_tick(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", starts=(Start(0),)), inputs=GUARDED)
    machine.advance(10)
    machine.press(0, 5)
    machine.set_input(1, False)
    events = machine.advance(20)
    assert of(events, Started) == []
    assert machine.mode is Mode.STOPPED


def test_a_lost_heartbeat_stops_an_armed_board(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", "wait 9000", starts=(Start(0),)), heartbeat=400)
    machine.press(0, 1)
    machine.advance(300)
    machine.heartbeat()
    events = machine.advance(701)
    assert of(events, Fault) == [Fault(700, FaultCode.LINK_LOST, 0)]
    assert of(events, ModeChanged) == [ModeChanged(700, Mode.STOPPED, Cause.LINK_LOST)]
    assert machine.levels()[0] == 0


def test_no_heartbeat_is_missed_while_disarmed(yard: Yard) -> None:
    machine = yard(heartbeat=400, armed=False)
    assert machine.advance(5000) == ()


def test_disarming_ends_everything(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", "wait 9000", starts=(Start(0),), every=(700, 700)))
    machine.press(0, 1)
    machine.advance(100)
    machine.disarm()
    events = machine.advance(3000)
    assert of(events, Killed) == [Killed(100, 0, Cause.BY_HAND)]
    assert of(events, Started) == []
    assert machine.levels()[0] == 0


def test_an_input_held_through_arming_starts_nothing(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", starts=(Start(0),)), armed=False)
    machine.advance(5)
    machine.set_input(0, False)
    machine.advance(50)
    assert machine.arm() is None
    assert of(machine.advance(500), Started) == []
    machine.set_input(0, True)
    machine.advance(510)
    machine.set_input(0, False)
    assert of(machine.advance(520), Started) == [Started(510, 0, Cause.TRIGGER, 0)]


def test_what_a_pin_reads_at_power_up_counts_at_once_and_starts_nothing(yard: Yard, routine: Make) -> None:
    machine = yard(routine("set 0 1", starts=(Start(0),)), inputs=(Input(0, settle=40),), armed=False)
    machine.set_input(0, False)
    assert machine.arm() is None
    assert of(machine.advance(100), Started) == []
    assert machine.inputs_tripped() == (True,)


def test_a_change_counts_after_it_has_held_its_settle_time(yard: Yard) -> None:
    machine = yard(inputs=(Input(0, settle=20),))
    machine.advance(100)
    machine.set_input(0, False)
    machine.advance(119)
    machine.set_input(0, True)
    assert machine.advance(200) == ()
    machine.set_input(0, False)
    assert machine.advance(221) == (InputChanged(220, 0, True),)


def test_polarity_is_the_inputs_own(yard: Yard) -> None:
    machine = yard(inputs=(Input(0, low_when_tripped=False), Input(1, low_when_tripped=True)))
    machine.advance(1)
    machine.set_input(0, True)
    machine.set_input(1, False)
    machine.advance(2)
    assert machine.inputs_tripped() == (True, True)


def test_a_sensor_that_warms_up_starts_nothing_except_by_hand(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 5", starts=(Start(0),)), inputs=(Input(0, warm_up=2000),))
    machine.advance(100)
    machine.set_input(0, False)
    events = machine.advance(200)
    assert of(events, Skipped) == [Skipped(100, 0, SkipReason.WARMING_UP)]
    machine.set_input(0, True)
    machine.advance(300)
    machine.press(0, 10)
    assert len(of(machine.advance(400), Started)) == 1
    machine.advance(2000)
    machine.set_input(0, False)
    assert of(machine.advance(2001), Started) == [Started(2000, 0, Cause.TRIGGER, 0)]


def test_a_press_trips_for_its_time_and_clears(yard: Yard, routine: Make) -> None:
    machine = yard(routine("wait 5", starts=(Start(0, Edge.CLEARS),)), inputs=(Input(0, settle=50),))
    machine.advance(10)
    machine.press(0, 30)
    events = machine.advance(100)
    assert of(events, InputChanged) == [InputChanged(10, 0, True), InputChanged(40, 0, False)]
    assert of(events, Started) == [Started(40, 0, Cause.TRIGGER, 0)]


def test_an_input_that_is_not_there_is_an_error(yard: Yard) -> None:
    for call in (lambda m: m.set_input(4, True), lambda m: m.press(-1, 5)):
        with pytest.raises(ValueError, match="there is no input"):
            call(yard())


def test_a_drive_by_hand_ends_by_itself_unless_renewed(yard: Yard, edges: Edges) -> None:
    machine = yard(armed=False)
    assert machine.drive(0, 255, 500) is None
    events = machine.advance(400)
    assert machine.drive(0, 255, 500) is None
    events += machine.advance(2000)
    assert edges(events, 0) == [(0, 255), (900, 0)]


def test_a_drive_by_hand_ends_in_spite_of_the_shortest_on_time(yard: Yard, edges: Edges) -> None:
    machine = yard(outputs=(Output(0, shortest_on=400),), clips=(), armed=False)
    machine.drive(0, 255, 50)
    assert edges(machine.advance(1000), 0) == [(0, 255), (50, 0)]


def test_a_stop_input_ends_a_drive_by_hand(yard: Yard, edges: Edges) -> None:
    machine = yard(inputs=GUARDED, armed=False)
    machine.drive(0, 255, 500)
    events = machine.advance(100)
    machine.set_input(1, False)
    events += machine.advance(600)
    assert edges(events, 0) == [(0, 255), (100, 0)]
    assert machine.mode is Mode.STOPPED


def test_the_limits_hold_for_a_drive_by_hand_too(yard: Yard, edges: Edges) -> None:
    machine = yard(outputs=(Output(0, longest_on=500, shortest_off=200),), clips=(), armed=False)
    events = ()
    for tick in range(0, 900, 100):
        events += machine.advance(tick)
        assert machine.drive(0, 255, 300) is None
    events += machine.advance(3000)
    assert edges(events, 0) == [(0, 255), (500, 0), (700, 255), (1100, 0)]
    assert of(events, Fault) == [Fault(500, FaultCode.LONGEST_ON, 0)]


@pytest.mark.parametrize(
    ("args", "text"),
    [
        ((9, 255, 10), "no output 9"),
        ((3, 90, 10), "level 90"),
        ((0, 256, 10), "level 256"),
        ((0, 255, 501), "1 to 500"),
        ((0, 255, 0), "1 to 500"),
    ],
)
def test_a_drive_that_makes_no_sense_is_refused(yard: Yard, args: tuple[int, int, int], text: str) -> None:
    machine = yard(outputs=RESTS, armed=False)
    assert text in (machine.drive(*args) or "")


def test_arming_ends_a_drive_by_hand_and_refuses_more(yard: Yard) -> None:
    machine = yard(armed=False)
    machine.drive(0, 255, 500)
    machine.advance(100)
    machine.arm()
    machine.advance(101)
    assert machine.levels()[0] == 0
    assert machine.drive(0, 255, 500) == "the board is armed"
