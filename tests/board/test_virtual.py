"""The virtual board behind its port: what each request does, and what lives on between commands."""

from __future__ import annotations

import errno
import subprocess
import sys
import time
from dataclasses import replace

import pytest
import serial

from sequencer.board.errors import BoardRefused, BoardSilent, PortBusy, PortUnusable
from sequencer.board.link import Link
from sequencer.board.log import LogKind, StartCause, entry_words
from sequencer.board.ports import open_port
from sequencer.board.profiles import AVR328, AVR2560
from sequencer.board.store import Standing
from sequencer.board.virtual import KEEPS_POWER_MS, state_folder
from sequencer.steps import Cause, Mode, encode


def kinds(link: Link) -> list[int]:
    return [one.entry.kind for one in link.log()]


def test_a_board_that_has_never_been_loaded_says_who_it_is_and_runs_nothing(bench):
    link = bench.link()
    board = link.identify()
    assert (board.kind, board.limits, board.free_slots) == (AVR328.kind, AVR328.limits, 2)
    state = link.state()
    assert (state.mode, state.length, state.standing) == (Mode.DISARMED, 0, Standing.NONE)
    with pytest.raises(BoardRefused, match="no program"):
        link.arm()


def test_an_upload_is_live_only_when_it_is_committed_and_on_trial_until_confirmed(bench, programs):
    image = encode(programs.lunge())
    link = bench.link()
    link.upload(image, AVR328.kind)
    assert link.state().length == 0
    link.commit()
    assert (link.state().length, link.state().standing) == (len(image), Standing.ON_TRIAL)
    link.confirm()
    assert link.state().standing is Standing.CONFIRMED
    assert link.read_back(len(image)) == image
    with pytest.raises(BoardRefused, match="no program is on trial"):
        link.confirm()


def test_a_scare_runs_when_its_sensor_trips_on_an_armed_board(bench):
    link = bench.loaded()
    link.arm()
    link.trip(0)
    bench.wait(0.05)
    assert link.levels(2)[0] == 255
    bench.wait(0.5)
    assert link.levels(2) == (0, 0)
    words = [entry_words(one.entry) for one in link.log()]
    assert any("scare 0 started" in line for line in words)
    assert any("scare 0 ended" in line for line in words)


def test_a_disarmed_board_does_nothing_when_its_sensor_trips(bench):
    link = bench.loaded()
    link.trip(0)
    bench.wait(0.05)
    assert link.levels(2) == (0, 0)
    assert LogKind.STARTED not in kinds(link)


def test_a_raw_pin_starts_a_scare_as_a_sensor_does(bench):
    link = bench.loaded()
    link.port.set_input(0, True)
    link.port.set_input(1, True)
    link.port.set_input(2, True)
    bench.wait(0.01)
    link.arm()
    bench.wait(0.01)
    link.port.set_input(0, False)
    bench.wait(0.02)
    assert link.levels(1) == (255,)


def test_arm_trip_and_log_may_be_three_commands(bench):
    bench.loaded().close()
    for act in (Link.arm, lambda link: link.trip(0), lambda link: None):
        link = bench.link()
        act(link)
        link.close()
        bench.wait(0.15)
    link = bench.link()
    words = [entry_words(one.entry) for one in link.log()]
    assert link.state().mode is Mode.ARMED
    assert any("started: input 0" in line for line in words)
    assert any("ended" in line for line in words)


def test_a_board_opened_anew_is_the_board_that_was_left(bench):
    """The same acts at the same ticks, once on a port kept open and once with a new one for each act."""
    acts = (
        Link.arm,
        lambda link: link.trip(0),
        Link.disarm,
        Link.arm,
        lambda link: link.trip(1),
        lambda link: None,
    )

    def story(name: str, anew: bool) -> tuple:
        link = bench.loaded(name=name)
        for act in acts:
            if anew:
                link.close()
                link = bench.link(name)
            act(link)
            bench.wait(0.07)
        return link.log(), link.levels(2), link.state()

    assert story("kept", anew=False) == story("reopened", anew=True)


def test_stop_holds_until_a_person_arms_again(bench):
    link = bench.loaded()
    link.arm()
    link.trip(0)
    bench.wait(0.02)
    link.trip(1, ticks=30)
    bench.wait(0.01)
    assert (link.state().mode, link.levels(2)) == (Mode.STOPPED, (0, 0))
    with pytest.raises(BoardRefused, match="stop input is tripped"):
        link.arm()
    with pytest.raises(BoardRefused, match="stopped"):
        link.drive(0, 255)
    bench.wait(0.1)
    assert link.state().mode is Mode.STOPPED
    link.arm()
    assert link.state().mode is Mode.ARMED


def test_a_house_alarm_latches_until_it_is_reset_and_then_the_board_is_disarmed(bench):
    link = bench.loaded()
    link.trip(2, ticks=30)
    bench.wait(0.01)
    assert link.state().tripped == (2,)
    with pytest.raises(BoardRefused, match="still tripped"):
        link.reset_alarm()
    bench.wait(0.1)
    assert link.state().mode is Mode.ALARMED
    with pytest.raises(BoardRefused, match="latched"):
        link.arm()
    link.trip(1, ticks=5)
    bench.wait(0.1)
    with pytest.raises(BoardRefused, match="nobody has worked its stop"):
        link.reset_alarm()
    for high in (False, True):
        bench.open_ports[-1].set_input(1, high)
        bench.wait(0.1)
    link.reset_alarm()
    assert link.state().mode is Mode.DISARMED
    with pytest.raises(BoardRefused, match="no house alarm"):
        link.reset_alarm()


def test_a_drive_by_hand_ends_by_itself_unless_it_is_renewed(bench):
    link = bench.loaded()
    link.drive(0, 255, 500)
    bench.wait(0.4)
    link.drive(0, 255, 500)
    bench.wait(0.4)
    assert link.levels(1) == (255,)
    bench.wait(0.2)
    assert link.levels(1) == (0,)


@pytest.mark.parametrize(
    ("output", "level", "ticks", "says"),
    [
        (2, 255, 100, "no output 2"),
        (0, 255, 501, "out of range"),
        (0, 255, 0, "out of range"),
        (0, 99, 9, "cannot fade"),
    ],
)
def test_a_drive_that_makes_no_sense_moves_nothing(bench, output, level, ticks, says):
    link = bench.loaded()
    with pytest.raises(BoardRefused, match=says):
        link.drive(output, level, ticks)
    bench.wait(0.01)
    assert link.levels(2) == (0, 0)


def test_an_armed_board_is_not_driven_by_hand_and_takes_no_upload(bench, programs):
    link = bench.loaded()
    link.arm()
    with pytest.raises(BoardRefused, match="armed"):
        link.drive(0, 255)
    with pytest.raises(BoardRefused, match="armed"):
        link.upload(encode(programs.lunge(2)), AVR328.kind)
    assert link.state().mode is Mode.ARMED


def test_a_board_does_not_arm_while_an_upload_is_open(bench, programs):
    link = bench.loaded()
    link.upload(encode(programs.lunge(2)), AVR328.kind)
    with pytest.raises(BoardRefused, match="half loaded"):
        link.arm()


def test_a_trip_of_an_input_that_is_not_there_is_refused(bench):
    with pytest.raises(BoardRefused, match="no input 3"):
        bench.loaded().trip(3)


def test_power_cut_and_given_back_is_a_disarmed_board_with_its_program(bench):
    link = bench.loaded()
    link.arm()
    link.close()
    link = bench.link(power="cycle")
    assert (link.state().mode, link.state().length > 0) == (Mode.DISARMED, True)
    assert kinds(link) == [LogKind.POWERED_UP]


def test_a_board_that_starts_anew_midway_says_so_and_does_nothing(bench):
    link = bench.loaded()
    link.port.cut_power()
    link.port.give_power()
    with pytest.raises(BoardRefused, match="restarted"):
        link.arm()
    link.identify()
    assert link.state().mode is Mode.DISARMED


def test_a_watchdog_reset_in_the_trial_brings_the_old_program_back_and_a_confirmed_one_stays(bench, programs):
    link = bench.loaded(programs.lunge(show_id=1))
    link.upload(encode(programs.lunge(show_id=2)), AVR328.kind)
    link.commit()
    assert link.state().show == 2
    link.close()
    link = bench.link(power="watchdog")
    assert (link.state().show, link.state().standing) == (1, Standing.CONFIRMED)
    assert link.log()[0].entry.subject == StartCause.WATCHDOG
    link.close()
    assert bench.link(power="watchdog").state().show == 1


def test_power_lost_in_the_trial_is_no_failed_trial(bench, programs):
    link = bench.loaded(programs.lunge(show_id=1))
    link.upload(encode(programs.lunge(show_id=2)), AVR328.kind)
    link.commit()
    link.close()
    assert bench.link(power="cycle").state().show == 2


def test_a_board_without_power_is_silent(bench):
    with pytest.raises(BoardSilent, match="12 times at 115200 and 38400"):
        bench.link(power="off")


def test_a_board_nobody_has_seen_for_long_has_lost_its_power(bench):
    link = bench.loaded()
    link.arm()
    link.close()
    bench.wait(KEEPS_POWER_MS / 1000 - 1)
    link = bench.link()
    assert link.state().mode is Mode.ARMED
    link.close()
    bench.wait(KEEPS_POWER_MS / 1000 + 1)
    assert bench.link().state().mode is Mode.DISARMED


@pytest.mark.parametrize("spoilt", ["", "{", "null\n", '{"started_ms": "x"}\n', "\x00\xff"])
def test_a_journal_that_cannot_be_read_is_a_board_without_a_past(bench, spoilt):
    link = bench.loaded()
    link.arm()
    link.close()
    (bench.folder / "box.eeprom.journal").write_text(spoilt, encoding="latin-1")
    assert bench.link().state().mode is Mode.DISARMED


def test_a_last_line_cut_off_loses_that_line_alone(bench):
    link = bench.loaded()
    link.arm()
    link.close()
    path = bench.folder / "box.eeprom.journal"
    path.write_text(path.read_text() + '[99, "dis')
    assert bench.link().state().mode is Mode.ARMED


def test_a_memory_that_is_not_the_one_of_the_journal_is_a_board_without_a_past(bench, programs):
    bench.loaded(programs.lunge(2), name="other").close()
    link = bench.loaded(programs.lunge(1))
    link.arm()
    link.close()
    (bench.folder / "box.eeprom").write_bytes((bench.folder / "other.eeprom").read_bytes())
    state = bench.link().state()
    assert (state.mode, state.show) == (Mode.DISARMED, 2)


def test_the_log_of_before_an_upload_is_still_there_after_it(bench, programs):
    link = bench.loaded()
    link.drive(0, 255, 50)
    link.upload(encode(programs.lunge(9)), AVR328.kind)
    link.commit()
    link.close()
    entries = [one.entry for one in bench.link().log()]
    assert LogKind.DRIVEN in [entry.kind for entry in entries]
    assert entries[-1].subject == StartCause.COMMIT


def test_the_log_keeps_the_last_entries_and_counts_on(bench):
    link = bench.loaded()
    for _ in range(2 * AVR328.log_entries):
        link.drive(0, 255, 1)
        bench.wait(0.005)
    log = link.log()
    assert len(log) == AVR328.log_entries
    assert [one.number for one in log] == list(range(log[0].number, log[0].number + len(log)))
    assert link.log(first=log[-2].number) == log[-2:]
    assert link.log(first=link.state().log_next) == ()


def test_the_state_of_the_random_generator_is_logged_at_arming(bench):
    link = bench.loaded(seed=77)
    random = link.state().random
    link.arm()
    halves = {one.entry.kind: one.entry.value for one in link.log()}
    assert halves[LogKind.RANDOM_LOW] | halves[LogKind.RANDOM_HIGH] << 16 == random


def test_a_heartbeat_is_taken_and_survives_the_port_being_opened_anew(bench, programs):
    link = bench.loaded(replace(programs.lunge(), heartbeat=300))
    link.arm()
    for _ in range(4):
        bench.wait(0.2)
        link.heartbeat()
        link.close()
        link = bench.link()
    assert link.state().mode is Mode.ARMED
    bench.wait(0.4)
    assert link.state().mode is Mode.STOPPED
    assert any(Cause.LINK_LOST.value in entry_words(one.entry) for one in link.log())


def test_a_port_in_use_is_busy_here_and_in_another_process(bench):
    bench.link()
    with pytest.raises(PortBusy) as busy:
        bench.port()
    assert busy.value.port == bench.url()
    look = (
        "import sys\nfrom sequencer.board.errors import PortBusy\n"
        "from sequencer.board.ports import open_port\n"
        "try:\n    open_port(sys.argv[1])\n"
        "except PortBusy as busy:\n    print(busy.holder)\n    sys.exit(11)\n"
    )
    other = subprocess.run([sys.executable, "-c", look, bench.url()], capture_output=True, text=True, check=False)
    assert other.returncode == 11, other.stderr
    if sys.platform.startswith("linux"):
        assert "process" in other.stdout


def test_the_fault_of_a_busy_port_is_the_one_a_real_port_raises(bench):
    bench.link()
    with pytest.raises(serial.SerialException) as fault:
        serial.serial_for_url(bench.url())
    assert fault.value.errno in (errno.EAGAIN, errno.EWOULDBLOCK)


@pytest.mark.parametrize(
    ("url", "says"),
    [
        ("virtual://box?bord=avr328", "no option 'bord'"),
        ("virtual://box?board=avr9", "no board 'avr9'"),
        ("virtual://box?power=maybe", "on, off, cycle or watchdog"),
        ("virtual://box?seed=-1", "whole number"),
        ("virtual://b.x", "letters"),
        ("virtual://box/more", "virtual://NAME"),
        ("nowhere://box", "not known"),
    ],
)
def test_a_url_that_is_not_understood_is_an_error_and_not_a_guess(url, says):
    with pytest.raises(PortUnusable, match=says):
        open_port(url)


def test_a_memory_file_of_another_board_is_refused_and_left_alone(bench):
    bench.loaded().close()
    before = (bench.folder / "box.eeprom").read_bytes()
    with pytest.raises(PortUnusable, match="was made as avr328 and is no avr2560; name another board, or remove"):
        bench.port(board="avr2560")
    assert (bench.folder / "box.eeprom").read_bytes() == before


def test_a_board_of_no_said_kind_is_the_one_its_memory_file_fits(bench):
    bench.loaded(profile=AVR2560).close()
    link = Link(open_port(f"virtual://box?file={bench.folder / 'box.eeprom'}", bench.clock), clock=bench.clock)
    assert link.identify().kind == AVR2560.kind
    link.close()


def test_the_port_keeps_to_its_time_outs(bench):
    """By the computer's own clock: nothing to read, so a read lasts its time-out."""
    port = open_port(bench.url())
    port.timeout = 0.05
    began = time.monotonic()
    assert port.read(10) == b""
    assert 0.045 < time.monotonic() - began < 0.5
    port.timeout = 0
    assert port.read(10) == b"" and port.in_waiting == 0
    port.close()
    with pytest.raises(serial.SerialException):
        port.read(1)


@pytest.mark.parametrize("system", ["linux", "darwin", "win32"])
def test_virtual_boards_live_in_the_users_own_folder(system):
    assert state_folder(system).name == "prop-sequencer"
