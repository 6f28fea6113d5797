"""Ports of this computer to boards that answered: listed, chosen, opened. Never takes the first that comes.

Opening asks for the port alone, with DTR and RTS low so that as few boards as can be are reset by it; one
that is reset all the same comes up disarmed. Faults are those of `errors`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.clock import Clock
from sequencer.board.errors import (
    BoardError,
    NoBoardFound,
    PortBusy,
    PortForbidden,
    PortMissing,
    PortUnusable,
    SeveralBoardsFound,
    port_error,
)
from sequencer.board.link import Identity, Link, Port
from sequencer.board.profiles import profile_by_kind
from sequencer.board.protocol import RATES_BAUD

_WRITE_TIMEOUT_S = 2.0
"""Assumed: far longer than 62 bytes take. Without it a port that does not drain would hang the tool."""


@dataclass(frozen=True, slots=True)
class PortPlace:
    """A port, and what tells the thing plugged into it from others when its name changes."""

    device: str
    description: str = ""
    serial_number: str | None = None
    location: str | None = None


@dataclass(frozen=True, slots=True)
class PortReport:
    """What answered on a port: the board, or the fault."""

    place: PortPlace
    board: Identity | None
    fault: BoardError | None

    @property
    def words(self) -> str:
        """Who answered, or what was wrong, as a phrase or a sentence."""
        if self.board is None:
            return self.fault.sentence if self.fault else "nothing answered"
        return who(self.board)


def who(board: Identity) -> str:
    """The board in words: its kind and its firmware."""
    profile = profile_by_kind(board.kind)
    name = profile.name if profile else f"a kind of board this version does not know, number {board.kind}"
    return f"{name}, firmware {board.firmware[0]}.{board.firmware[1]}"


def open_port(url: str, clock: Clock | None = None) -> Port:
    """An open port of its own: a device, `virtual://`, `socket://`. Raises PortError."""
    import serial

    package = "sequencer.board"
    if package not in serial.protocol_handler_packages:
        serial.protocol_handler_packages.append(package)
    virtual = url.lower().startswith("virtual:")
    extra = {"clock": clock} if virtual and clock is not None else {}
    try:
        port = serial.serial_for_url(
            url,
            do_not_open=True,
            baudrate=RATES_BAUD[0],
            write_timeout=_WRITE_TIMEOUT_S,
            exclusive=True,
            **extra,
        )
        port.dtr = False
        port.rts = False
        port.open()
    except (OSError, ValueError) as fault:
        raise _port_fault(url, fault) from fault
    return port


def _port_fault(url: str, fault: Exception) -> BoardError:
    found = port_error(url, fault)
    if isinstance(found, PortBusy):
        return PortBusy(url, _holder(url))
    if isinstance(found, PortForbidden):
        return PortForbidden(url, _group_of(url))
    return found


def open_link(url: str, clock: Clock | None = None) -> tuple[Link, Identity]:
    """The board on this port, greeted. Raises BoardError, and leaves the port closed then."""
    link = Link(open_port(url, clock), url, clock=clock)
    try:
        return link, link.identify()
    except BoardError:
        link.close()
        raise


def places() -> tuple[PortPlace, ...]:
    """The serial ports the system shows. Virtual boards are not among them: they are asked for by name."""
    from serial.tools import list_ports

    return tuple(
        PortPlace(port.device, _told(port.description), port.serial_number, port.location)
        for port in sorted(list_ports.comports())
    )


def _told(description: str | None) -> str:
    """What the system says of the thing plugged in; the serial library writes `n/a` where it says nothing."""
    return "" if description in (None, "n/a") else str(description)


def refuse_missing(url: str) -> None:
    """Raises PortError for a port that cannot be had, as far as that shows without opening or making anything.

    Opening a port resets many boards, so what a person should read before that can come after this.
    """
    from sequencer.board.virtual import SCHEME, options_of

    if url.lower().startswith(f"{SCHEME}:"):
        try:
            options_of(url)
        except ValueError as fault:
            raise PortUnusable(url, str(fault)) from fault
    elif "://" not in url and os.name == "posix" and not os.path.exists(url):
        raise PortMissing(url)


def survey(candidates: Sequence[PortPlace] | None = None) -> tuple[PortReport, ...]:
    """Asks every port who is there, all at once, and closes it again."""
    asked = tuple(places() if candidates is None else candidates)
    if not asked:
        return ()
    with ThreadPoolExecutor(max_workers=len(asked)) as pool:
        return tuple(pool.map(_look_at, asked))


def _look_at(place: PortPlace) -> PortReport:
    try:
        link, board = open_link(place.device)
    except BoardError as fault:
        return PortReport(place, None, fault)
    link.close()
    return PortReport(place, board, None)


def find_board(url: str | None = None, candidates: Sequence[PortPlace] | None = None) -> tuple[Link, Identity]:
    """The board on the port named; with none named, the one board there is. Raises BoardError.

    NoBoardFound lists what was looked at, SeveralBoardsFound who answered: none is ever picked by itself.
    """
    if url is not None:
        return open_link(url)
    reports = survey(candidates)
    boards = [report for report in reports if report.board is not None]
    if not boards:
        raise NoBoardFound(tuple((report.place.device, report.words) for report in reports))
    if len(boards) > 1:
        raise SeveralBoardsFound(tuple((report.place.device, report.words) for report in boards))
    return open_link(boards[0].place.device)


def place_now(place: PortPlace, candidates: Sequence[PortPlace] | None = None) -> PortPlace | None:
    """Where the thing that was at `place` is now, by its serial number, else by its socket; None if gone."""
    seen = tuple(places() if candidates is None else candidates)
    if place.serial_number:
        return next((one for one in seen if one.serial_number == place.serial_number), None)
    if place.location:
        return next((one for one in seen if one.location == place.location), None)
    return next((one for one in seen if one.device == place.device), None)


def _holder(url: str) -> str | None:
    """The program that has this port open, where the system lets us see it."""
    if not sys.platform.startswith("linux"):
        return None
    from sequencer.board.virtual import SCHEME, lock_file

    path = lock_file(url) if url.lower().startswith(SCHEME) else Path(url)
    wanted = os.path.realpath(path)
    for process in Path("/proc").glob("[0-9]*"):
        if process.name != str(os.getpid()) and _holds(process, wanted):
            return f"{_name_of(process)} (process {process.name})"
    return None


def _holds(process: Path, wanted: str) -> bool:
    try:
        return any(os.path.realpath(entry) == wanted for entry in (process / "fd").iterdir())
    except OSError:
        return False


def _name_of(process: Path) -> str:
    try:
        return (process / "comm").read_text(encoding="utf-8", errors="replace").strip() or "a program"
    except OSError:
        return "a program"


def _group_of(url: str) -> str | None:
    """The group that may use the device file, where the system has groups."""
    try:
        return Path(url).group()
    except (OSError, KeyError, NotImplementedError):
        return None
