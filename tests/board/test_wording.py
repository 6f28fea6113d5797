"""What a builder reads of boards, ports and logs: plain words, what to do, and no word of the link's own."""

from __future__ import annotations

import errno
import os
import re
import socket

import pytest
from serial.serialutil import SerialException

from sequencer.board import protocol
from sequencer.board.errors import BoardRefused, BoardSilent, PortMissing, PortUnusable, Unplugged, port_error
from sequencer.board.log import LogEntry, LogKind, LogNames, StartCause, entry_words, log_rows
from sequencer.board.ports import open_port, refuse_missing
from sequencer.board.profiles import AVR2560
from sequencer.board.protocol import FRAMES, REFUSALS

OF_THE_LINK = re.compile(r"\b(upload|identify|frame|decode|slot|request|conversation|kind \d|routine|subject)\b")
"""Words that say how the link works, which a builder has no use for."""


@pytest.mark.parametrize("refusal", REFUSALS, ids=lambda one: one.name)
def test_a_refusal_is_told_without_words_of_the_link(refusal):
    for spec in FRAMES:
        said = BoardRefused(spec.name, refusal.code, AVR2560.kind).sentence
        assert OF_THE_LINK.search(said) is None, said
        assert "{" not in said


def test_a_request_that_fails_is_told_by_what_was_asked():
    for spec in FRAMES:
        for fault in (BoardSilent("COM3", spec.name, 12, (115_200,)), Unplugged("COM3", spec.name)):
            assert OF_THE_LINK.search(fault.sentence) is None, fault.sentence


def test_an_armed_board_that_is_to_take_a_show_says_the_command_that_helps():
    armed = protocol.refusal_named("armed").code
    assert BoardRefused("open upload", armed, 0).sentence == (
        "The board refused to take a new show: it is armed; disarm it first, with `sequencer disarm`."
    )


def test_the_kind_of_a_board_is_told_by_its_name():
    wrong = protocol.refusal_named("wrong kind").code
    assert "this one is avr2560" in BoardRefused("open upload", wrong, AVR2560.kind).sentence
    assert "this one is of kind 99" in BoardRefused("open upload", wrong, 99).reason


@pytest.mark.parametrize(
    ("port", "virtual"),
    [("hut", True), ("coal_hut", True), ("COM7", False), ("/dev/ttyUSB0", False), ("ttyACM0", False)],
)
def test_a_port_that_is_not_there_says_where_the_ports_are_listed(port, virtual):
    said = PortMissing(port).sentence
    assert "`sequencer ports`" in said
    assert (f"`virtual://{port}`" in said) == virtual


def under(below: BaseException) -> SerialException:
    """A fault as the serial library raises it, in words, on top of the system's own."""
    try:
        try:
            raise below
        except BaseException:
            raise SerialException(f"Could not open port: {below}")  # noqa: B904 (as the library does it)
    except SerialException as fault:
        return fault


@pytest.mark.parametrize(
    ("below", "says"),
    [
        (ConnectionRefusedError(errno.ECONNREFUSED, "Connection refused"), "nothing takes calls"),
        (socket.gaierror(socket.EAI_NONAME, "Name or service not known"), "no computer of that name"),
        (OSError(errno.ENOTTY, "Inappropriate ioctl for device"), "no serial port"),
        (OSError(errno.ENOEXEC, "Exec format error"), "Exec format error"),
        (OSError("odd"), "odd"),
    ],
)
def test_the_systems_fault_below_the_librarys_is_worded(below, says):
    said = port_error("x", under(below), "linux").sentence
    assert says in said
    assert "Errno" not in said and "ioctl" not in said


@pytest.mark.skipif(os.name != "posix", reason="device files of POSIX")
def test_what_is_no_serial_port_is_said_to_be_none(tmp_path):
    for path in ("/dev/null", str(tmp_path)):
        with pytest.raises(PortUnusable, match="no serial port"):
            open_port(path)


def test_a_port_that_plainly_cannot_be_had_is_refused_with_nothing_opened_or_made(bench):
    refuse_missing(bench.url("new"))
    refuse_missing("socket://127.0.0.1:1")
    assert not list(bench.folder.iterdir())
    with pytest.raises(PortUnusable, match="there is no board 'avr9'"):
        refuse_missing("virtual://a?board=avr9")
    if os.name == "posix":
        with pytest.raises(PortMissing):
            refuse_missing(str(bench.folder / "nothing"))
        refuse_missing("/dev/null")


def test_a_memory_file_that_fits_no_board_says_to_remove_it(bench):
    file = bench.folder / "odd.eeprom"
    file.write_bytes(bytes(100))
    with pytest.raises(PortUnusable) as odd:
        open_port(f"virtual://odd?file={file}")
    assert f"its memory file {file} has 100 bytes, which fits no kind of board; remove that file" in odd.value.sentence
    assert "Errno" not in odd.value.sentence
    assert file.read_bytes() == bytes(100)


LOW, HIGH = LogEntry(5, LogKind.RANDOM_LOW, 0, 0x5AD1), LogEntry(5, LogKind.RANDOM_HIGH, 0, 0x6E6A)
OTHER = LogEntry(6, LogKind.ENDED, 0, 0)


def test_the_two_halves_of_the_random_state_are_one_row_for_people():
    rows = list(log_rows([(65_534, OTHER), (65_535, LOW), (0, HIGH), (1, OTHER)], LogNames()))
    assert [number for number, _, _ in rows] == [65_534, 65_535, 1]
    assert rows[1][2] == "the random waits go on from 0x6E6A5AD1"


@pytest.mark.parametrize("kept", [[(7, LOW)], [(8, HIGH)], [(8, HIGH), (9, OTHER)], [(7, LOW), (9, OTHER)]])
def test_a_half_whose_other_half_has_gone_is_still_told(kept):
    assert len(list(log_rows(kept, LogNames()))) == len(kept)


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        (LogEntry(0, LogKind.DRIVEN, 0, 153), "eyes driven by hand, at 60 %"),  # 60 % of 255 is 153
        (LogEntry(0, LogKind.DRIVEN, 0, 255), "eyes driven by hand, on"),
        (LogEntry(0, LogKind.DRIVEN, 0, 0), "eyes driven by hand, off"),
        (LogEntry(0, LogKind.POWERED_UP, StartCause.POWER, 0), "the board started, without a program"),
        (LogEntry(0, LogKind.POWERED_UP, StartCause.COMMIT, 3), "the board started on a new program, load 3"),
    ],
)
def test_an_entry_reads_as_a_builder_would_say_it(entry, says):
    assert entry_words(entry, LogNames(outputs=("eyes",))).startswith(says)


def test_no_entry_of_any_kind_is_told_in_words_of_the_link():
    for kind in (*LogKind, 99):
        for value in (0, 1, 200):
            assert OF_THE_LINK.search(entry_words(LogEntry(0, kind, 0, value))) is None
