"""Ports and which board is meant: one, or a list and a stop."""

from __future__ import annotations

import errno
import os
import sys
import threading

import pytest
import serial
from serial.serialutil import SerialException

from sequencer.board import errors
from sequencer.board.errors import (
    BoardError,
    BoardSilent,
    NoBoardFound,
    PortBusy,
    PortForbidden,
    PortMissing,
    PortUnusable,
    SeveralBoardsFound,
    port_error,
)  # fmt: skip
from sequencer.board.link import Link
from sequencer.board.ports import PortPlace, find_board, open_link, open_port, place_now, survey

posix_only = pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are POSIX")


def place(bench, name: str, **options) -> PortPlace:
    return PortPlace(bench.url(name, **options), "virtual board")


def test_the_one_board_that_answers_is_taken(bench):
    candidates = (place(bench, "a"), PortPlace(str(bench.folder / "nothing")))
    link, board = find_board(candidates=candidates)
    assert board.kind == 1 and link.name == candidates[0].device
    link.close()


def test_a_port_is_asked_for_alone_and_with_its_reset_lines_low(bench, monkeypatch):
    """Many boards are reset by a rising DTR; the lines are set before the port opens."""
    made, told = serial.serial_for_url, {}

    def recording(url, **options):
        port = made(url, **options)
        opened = port.open
        port.open = lambda: (told.update(dtr=port.dtr, rts=port.rts, exclusive=port.exclusive), opened())
        return port

    monkeypatch.setattr(serial, "serial_for_url", recording)
    bench.port()
    assert told == {"dtr": False, "rts": False, "exclusive": True}


def test_two_boards_are_listed_and_none_is_taken(bench):
    with pytest.raises(SeveralBoardsFound) as several:
        find_board(candidates=(place(bench, "a"), place(bench, "b", board="avr2560")))
    assert [who.split(",")[0] for _, who in several.value.boards] == ["avr328", "avr2560"]
    assert bench.url("a") in several.value.sentence
    bench.port("a")


def test_no_board_is_an_error_that_says_what_each_port_did(bench):
    bench.port("a")
    candidates = (place(bench, "a"), PortPlace(str(bench.folder / "nothing")))
    with pytest.raises(NoBoardFound) as none:
        find_board(candidates=candidates)
    assert "in use" in none.value.sentence and "no port" in none.value.sentence
    with pytest.raises(NoBoardFound, match="plug the board in"):
        find_board(candidates=())


def test_a_port_that_is_named_is_the_only_one_asked(bench):
    link, _ = find_board(bench.url("a"), candidates=(place(bench, "a"), place(bench, "b")))
    link.close()
    assert not (bench.folder / "b.eeprom").exists()


def test_a_survey_tells_board_from_fault_in_words(bench):
    good, bad = survey((place(bench, "a"), PortPlace(str(bench.folder / "nothing"))))
    assert good.words == "avr328, firmware 1.0" and good.fault is None
    assert isinstance(bad.fault, PortMissing) and bad.words == bad.fault.sentence


def test_a_port_left_after_a_failed_greeting_is_closed_again(bench):
    with pytest.raises(BoardSilent):
        open_link(bench.url(power="off"), bench.clock)
    link, _ = open_link(bench.url(), bench.clock)
    link.close()


def test_the_same_board_is_found_again_by_serial_number_then_by_socket_and_not_by_name():
    was = PortPlace("COM3", "", "A1B2", "1-2")
    others = (PortPlace("COM3", "", "ZZ", "1-2"), PortPlace("COM7", "", "A1B2", "1-4"))
    assert place_now(was, others).device == "COM7"
    assert place_now(PortPlace("COM3", "", None, "1-4"), others).device == "COM7"
    assert place_now(PortPlace("COM9", "", "Q", None), others) is None
    assert place_now(PortPlace("COM3"), others).device == "COM3"


@pytest.mark.parametrize(
    ("number", "kind"),
    [
        (errno.ENOENT, PortMissing),
        (errno.ENXIO, PortMissing),
        (errno.ENODEV, PortMissing),
        (errno.EACCES, PortForbidden),
        (errno.EAGAIN, PortBusy),
        (errno.EBUSY, PortBusy),
        (errno.EIO, PortUnusable),
    ],
)
def test_the_systems_number_says_what_is_wrong_with_a_port(number, kind):
    """POSIX error numbers by their names; absent, denied, in use."""
    assert type(port_error("tty", SerialException(number, os.strerror(number)), "linux")) is kind


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("could not open port 'COM3': FileNotFoundError(2, 'x', None, 2)", PortMissing),
        ("could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)", PortBusy),
        ("Cannot configure port", PortUnusable),
    ],
)
def test_windows_says_it_in_words_only(text, kind):
    assert type(port_error("COM3", SerialException(text), "win32")) is kind


@pytest.mark.parametrize(
    ("system", "mend"),
    [("linux", "usermod -aG dialout"), ("darwin", "Privacy"), ("win32", "unplug"), ("sunos", "ask")],
)
def test_a_forbidden_port_comes_with_the_mend_for_the_system(system, mend):
    fault = PortForbidden("port", system=system)
    assert mend in fault.sentence
    if system == "linux":
        assert "log in anew" in fault.sentence


def test_every_fault_of_the_tree_in_the_docstring_exists_and_is_of_the_family():
    drawn = {line.split()[0] for line in errors.__doc__.splitlines() if line.startswith("    ")}
    defined = {name for name, kind in vars(errors).items() if isinstance(kind, type) and issubclass(kind, BoardError)}
    assert drawn == defined


@posix_only
def test_a_board_on_a_pseudo_terminal_is_reached_as_on_any_real_port(bench):
    """The system's own serial driver between the two: time-outs, locking and rates are the real ones."""
    import tty

    near, far = os.openpty()
    tty.setraw(near)
    tty.setraw(far)
    board = bench.port("far")

    def serve() -> None:
        while True:
            try:
                data = os.read(near, 256)
            except OSError:
                return
            if data == b"":
                return
            board.write(data)
            os.write(near, board.read(board.in_waiting))

    threading.Thread(target=serve, daemon=True).start()
    link, identity = open_link(os.ttyname(far))
    assert identity.kind == 1 and link.state().length == 0
    with pytest.raises(PortBusy):
        open_port(os.ttyname(far))
    link.close()


@posix_only
def test_a_device_that_is_no_serial_port_is_refused_in_words(bench):
    plain = bench.folder / "file"
    plain.write_text("no port")
    with pytest.raises(PortUnusable, match="cannot be used"):
        open_port(str(plain))


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() == 0, reason="needs a user who may not")
def test_a_port_of_which_one_has_no_right_is_forbidden(bench):
    plain = bench.folder / "file"
    plain.write_text("")
    plain.chmod(0)
    with pytest.raises(PortForbidden):
        open_port(str(plain))


def test_a_board_behind_a_socket_is_reached_by_its_url(bench):
    import socket

    server = socket.create_server(("127.0.0.1", 0))
    board = bench.port("far")

    def serve() -> None:
        conn, _ = server.accept()
        with conn:
            while data := conn.recv(256):
                board.write(data)
                conn.sendall(board.read(board.in_waiting))

    threading.Thread(target=serve, daemon=True).start()
    link, identity = open_link(f"socket://127.0.0.1:{server.getsockname()[1]}")
    assert identity.kind == 1
    assert isinstance(link, Link)
    link.close()
    server.close()
