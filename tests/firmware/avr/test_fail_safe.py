"""What the AVR image does when something goes wrong, at its pins.

Not in the simulator: the brown-out detector (a cut of power stands for it), the time an interrupt takes to be entered,
and a chip that hangs by itself (the bench makes the program hang where it happens to be).
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from sequencer.board.errors import BoardRefused
from sequencer.board.link import Link
from sequencer.board.profiles import AVR328
from sequencer.board.store import Standing
from sequencer.steps import FaultCode, Mode, Program, encode
from tests.firmware.bench.board import linked, memory_with
from tests.firmware.bench.driver import HZ, Bench
from tests.firmware.bench.programs import ALARM, STOP, TRIGGER, all_on, limited, with_heartbeat

TICK = HZ // 1000
PROGRAM = all_on()


@pytest.fixture
def powered() -> Callable[[Program], tuple[Bench, Link]]:
    """Makes a board under power that holds a program, its inputs clear, and greets it."""
    made: list[Bench] = []

    def make(program: Program = PROGRAM, memory: bytes | None = None) -> tuple[Bench, Link]:
        bench = Bench("avr328", memory=memory or memory_with(AVR328, encode(program)))
        made.append(bench)
        for pin, high in ((TRIGGER, True), (STOP, True), (ALARM, False)):
            bench.set_input(pin, high)
        bench.power_on()
        bench.run_ms(150)
        return bench, linked(bench)

    yield make
    for bench in made:
        bench.close()


def levels(bench: Bench, program: Program = PROGRAM) -> list[int | None]:
    """Levels of the outputs as the program means them."""
    pins = [bench.level(output.pin) for output in program.outputs]
    return [
        255 - level if level is not None and output.active_low else level
        for level, output in zip(pins, program.outputs, strict=True)
    ]


SAFE = [output.safe for output in PROGRAM.outputs]
AT_ALARM = [output.alarm for output in PROGRAM.outputs]
AT_WORK = [0 if output.safe else 255 for output in PROGRAM.outputs]


def fire(bench: Bench, link: Link) -> None:
    """Arms the board and trips the trigger."""
    link.arm()
    bench.set_input(TRIGGER, False)
    bench.run_ms(5)


def last_edge_ms(bench: Bench, since: int) -> float:
    """When the last pin changed, in ms after that cycle."""
    return max((edge.cycle for edge in bench.edges if edge.cycle >= since), default=since) / TICK - since / TICK


def test_at_power_up_every_output_goes_from_floating_to_its_safe_level_and_no_other(powered):
    bench, _ = powered()
    assert levels(bench) == SAFE
    for output in PROGRAM.outputs:
        name = bench.outputs[output.pin].name
        wanted = "1" if (output.safe > 0) != output.active_low else "0"
        seen = [edge.value for edge in bench.edges if edge.pin == name]
        assert [value for value in seen if value not in "zh"] == [wanted], name


def test_a_board_without_a_program_drives_no_pin(powered):
    bench, link = powered(memory=memory_with(AVR328))
    assert link.state().standing is Standing.NONE
    assert levels(bench) == [None] * 12


@pytest.mark.parametrize("at", [0, 5, 40, 200])
def test_a_program_with_one_wrong_byte_is_not_run(powered, at):
    memory = bytearray(memory_with(AVR328, encode(PROGRAM)))
    memory[16 + at % len(encode(PROGRAM))] ^= 0x10
    bench, link = powered(memory=bytes(memory))
    assert link.state().standing is Standing.NONE
    assert levels(bench) == [None] * 12
    with pytest.raises(BoardRefused, match="no program"):
        link.arm()


def test_a_wrong_byte_in_the_newer_program_brings_back_the_older(powered):
    older = encode(limited())
    memory = bytearray(memory_with(AVR328, older, encode(PROGRAM)))
    memory[AVR328.slot_bytes + 32 + 50] ^= 0x01
    _, link = powered(memory=bytes(memory))
    assert link.state().show == limited().show_id


def test_a_cut_of_power_while_all_is_on_floats_every_pin_and_comes_back_disarmed_and_safe(powered):
    bench, link = powered()
    fire(bench, link)
    assert levels(bench) == AT_WORK
    bench.power_off()
    assert levels(bench) == [None] * 12
    bench.run_ms(50)
    bench.power_on()
    bench.run_ms(150)
    assert levels(bench) == SAFE
    assert linked(bench).state().mode is Mode.DISARMED


@pytest.mark.parametrize("where", ["main", "tick"])
@pytest.mark.parametrize("moment", range(6))
def test_a_program_that_hangs_has_all_outputs_off_within_150_ms(powered, where, moment):
    bench, link = powered()
    fire(bench, link)
    assert levels(bench) == AT_WORK
    bench.run_ms(random.Random(moment).uniform(1, 40))
    bench.do(f"wedge {where}")
    hung = bench.stats()["now"]
    bench.run_ms(150)
    assert len(bench.resets()) == 1
    assert (bench.resets()[0] - hung) / TICK <= 150
    bench.run_ms(150)
    assert levels(bench) == SAFE
    link = linked(bench)
    assert link.state().mode is Mode.DISARMED
    bench.run_ms(200)
    assert levels(bench) == SAFE, "the trigger is still held, and starts nothing"


def test_a_program_on_trial_that_hangs_gives_way_to_the_one_before(powered):
    bench, link = powered(limited())
    link.upload(encode(PROGRAM), AVR328.kind)
    link.commit()
    assert link.state().standing is Standing.ON_TRIAL
    bench.do("wedge main")
    bench.run_ms(400)
    state = linked(bench).state()
    assert (state.show, state.standing) == (limited().show_id, Standing.CONFIRMED)


def test_a_stop_input_has_all_outputs_safe_within_two_ticks_while_eight_routines_run(powered):
    for moment in range(8):
        bench, link = powered()
        fire(bench, link)
        assert levels(bench) == AT_WORK
        bench.run_ms(10 + moment / 8)
        pressed = bench.stats()["now"]
        bench.set_input(STOP, False)
        bench.run_ms(20)
        assert levels(bench) == SAFE
        assert last_edge_ms(bench, pressed) <= 2


def test_after_a_stop_nothing_moves_until_the_board_is_armed_anew(powered):
    bench, link = powered()
    fire(bench, link)
    bench.set_input(STOP, False)
    bench.run_ms(20)
    bench.set_input(STOP, True)
    before = len(bench.edges)
    for high in (True, False, True, False):
        bench.set_input(TRIGGER, high)
        bench.run_ms(60)
    assert link.state().mode is Mode.STOPPED
    assert len(bench.edges) == before
    link.arm()
    bench.run_ms(100)
    assert len(bench.edges) == before, "the trigger was held through arming"
    bench.set_input(TRIGGER, True)
    bench.run_ms(20)
    bench.set_input(TRIGGER, False)
    bench.run_ms(20)
    assert levels(bench) == AT_WORK


def test_a_board_is_not_armed_while_its_stop_is_pressed(powered):
    bench, link = powered()
    bench.set_input(STOP, False)
    bench.run_ms(20)
    with pytest.raises(BoardRefused, match="stop input is tripped"):
        link.arm()


def test_a_house_alarm_puts_each_output_to_its_alarm_level_and_holds_until_it_is_reset(powered):
    bench, link = powered()
    fire(bench, link)
    rung = bench.stats()["now"]
    bench.set_input(ALARM, True)
    bench.run_ms(20)
    assert levels(bench) == AT_ALARM
    assert last_edge_ms(bench, rung) <= 2
    with pytest.raises(BoardRefused, match="still tripped"):
        link.reset_alarm()
    bench.set_input(ALARM, False)
    bench.run_ms(50)
    assert levels(bench) == AT_ALARM
    with pytest.raises(BoardRefused, match="alarm is latched"):
        link.arm()
    link.trip(STOP, ticks=5)
    bench.run_ms(20)
    with pytest.raises(BoardRefused, match="nobody has worked its stop"):
        link.reset_alarm()
    for high in (False, True):
        bench.set_input(STOP, high)
        bench.run_ms(20)
    assert levels(bench) == AT_ALARM
    link.reset_alarm()
    bench.run_ms(5)
    assert levels(bench) == SAFE
    assert link.state().mode is Mode.DISARMED


def test_a_lost_heartbeat_stops_the_board_when_it_is_due_and_not_before(powered):
    bench, link = powered(with_heartbeat(400))
    fire(bench, link)
    for _ in range(5):
        link.heartbeat()
        bench.run_ms(350)
    assert levels(bench) == AT_WORK
    link.heartbeat()
    heard = bench.stats()["now"]
    bench.run_ms(450)
    assert levels(bench) == SAFE
    assert 397 <= last_edge_ms(bench, heard) <= 402
    state = link.state()
    assert (state.mode, state.fault) == (Mode.STOPPED, FaultCode.LINK_LOST)


def test_an_output_goes_off_at_its_longest_on_time_whatever_the_steps_say(powered):
    program = limited()
    bench, link = powered(program)
    fire(bench, link)
    name = bench.outputs[6].name
    bench.run_ms(700)
    on, off = [edge.cycle for edge in bench.edges if edge.pin == name][-2:]
    assert off - on == pytest.approx(500 * TICK, abs=80)
    assert link.state().fault == FaultCode.LONGEST_ON


def test_of_two_outputs_that_exclude_each_other_the_second_stays_off(powered):
    program = limited()
    bench, link = powered(program)
    fire(bench, link)
    bench.run_ms(100)
    assert levels(bench, program)[1:3] == [255, 0]
    assert link.state().fault == FaultCode.EXCLUSION


def test_a_drive_by_hand_that_is_not_renewed_ends_by_itself(powered):
    program = limited()
    bench, link = powered(program)
    for _ in range(4):
        link.drive(3, 255, 300)
        bench.run_ms(200)
        assert levels(bench, program)[3] == 255
    link.drive(3, 255, 300)
    asked = bench.stats()["now"]
    bench.run_ms(400)
    assert levels(bench, program)[3] == 0
    assert 295 <= last_edge_ms(bench, asked) <= 302
