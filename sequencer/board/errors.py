"""What can go wrong between this computer and a board: one family, worded once more by nobody.

    BoardError                  all of them; `.sentence` says it to a builder
      PortError                 the port cannot be had
        PortMissing             there is no such port
        PortBusy                another program holds it
        PortForbidden           this user may not open it
        PortUnusable            the system or the virtual board says why in its own words
      ChoiceError               which board is meant is not clear
        NoBoardFound            no port answered as a board
        SeveralBoardsFound      more than one did
      LinkError                 the board and this tool do not get through to each other
        BoardSilent             nothing answered, or nothing that could be read
        OtherVersion            it answered in another version of the protocol
        Unplugged               the port went away midway
      BoardRefused              the board said no, with its reason
      FlashError                a program was not loaded
        WrongBoardKind          it is for another kind of board
        BadImage                it does not decode or does not keep the board's limits
        VerifyFailed            the board holds something else than was sent
        BackupFailed            the old program could not be kept in a file, so nothing was written

A port's own errors are turned into these by `port_error`. Which words go to the screen, and in which colour,
is for the commands.
"""

from __future__ import annotations

import errno
import re
import socket
import sys

from sequencer.board.profiles import profile_by_kind
from sequencer.board.protocol import refusal_sentence


class BoardError(Exception):
    """Any fault of this family. Its data are its attributes; `sentence` is plain English with the mend."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class PortError(BoardError):
    """A port cannot be had."""

    def __init__(self, port: str, sentence: str) -> None:
        super().__init__(sentence)
        self.port = port


class PortMissing(PortError):
    """There is no such port."""

    def __init__(self, port: str) -> None:
        name = f", and a virtual board is named `virtual://{port}`" if _may_be_a_name(port) else ""
        super().__init__(
            port, f"There is no port {port}; plug the board in. `sequencer ports` lists the ports there are{name}."
        )


def _may_be_a_name(port: str) -> bool:
    """Whether this looks like the name of a virtual board rather than a device: a word without a digit at its end."""
    return port.replace("_", "a").replace("-", "a").isalnum() and not port[-1:].isdigit()


class PortBusy(PortError):
    """Another program holds the port; `holder` names it where the system tells."""

    def __init__(self, port: str, holder: str | None = None) -> None:
        by = f" by {holder}" if holder else " by another program"
        super().__init__(port, f"The port {port} is in use{by}; close that first.")
        self.holder = holder


class PortForbidden(PortError):
    """This user may not open the port; `group` is the one that may, on Linux."""

    def __init__(self, port: str, group: str | None = None, system: str = sys.platform) -> None:
        super().__init__(port, f"You may not open the port {port}; {_mend_for_forbidden(system, group)}")
        self.group = group


def _mend_for_forbidden(system: str, group: str | None) -> str:
    if system.startswith("linux"):
        name = group or "dialout"
        return f"run `sudo usermod -aG {name} $USER`, then log out and log in anew."
    if system == "darwin":
        return "look under System Settings, Privacy and Security, whether this program may use accessories."
    if system == "win32":
        return "close every other window that uses it, then unplug the board and plug it in again."
    return "ask who looks after this computer to let you use serial ports."


class PortUnusable(PortError):
    """The port exists, and the system will not have it used; `reason` is what it says."""

    def __init__(self, port: str, reason: str) -> None:
        super().__init__(port, f"The port {port} cannot be used: {reason}.")
        self.reason = reason


class ChoiceError(BoardError):
    """Which board is meant is not clear."""


class NoBoardFound(ChoiceError):
    """None of the ports looked at answered as a board; `looked_at` pairs each with what happened."""

    def __init__(self, looked_at: tuple[tuple[str, str], ...]) -> None:
        if looked_at:
            seen = " ".join(f"{port}: {what}" for port, what in looked_at)
            sentence = f"No board answered. {seen}"
        else:
            sentence = "No board answered, and this computer shows no serial port; plug the board in."
        super().__init__(sentence)
        self.looked_at = looked_at


class SeveralBoardsFound(ChoiceError):
    """More than one board answered; `boards` pairs each port with who answered."""

    def __init__(self, boards: tuple[tuple[str, str], ...]) -> None:
        seen = ", ".join(f"{port} ({who})" for port, who in boards)
        super().__init__(f"{len(boards)} boards answered: {seen}; say which port is meant.")
        self.boards = boards


class LinkError(BoardError):
    """The board and this tool do not get through to each other."""

    def __init__(self, port: str, sentence: str) -> None:
        super().__init__(sentence)
        self.port = port


class BoardSilent(LinkError):
    """No answer that could be read; `asked` times, at each of `rates` in baud, while `doing`."""

    def __init__(self, port: str, doing: str, asked: int, rates: tuple[int, ...]) -> None:
        at = " and ".join(f"{rate}" for rate in rates)
        super().__init__(
            port,
            f"Nothing on {port} answered when asked to {_as_verb(doing)}, {asked} times at {at} baud; "
            "see that the board has power, that its cable carries data, and that the firmware is on it.",
        )
        self.doing, self.asked, self.rates = doing, asked, rates


class OtherVersion(LinkError):
    """The board speaks another version of the protocol, or reads another version of the step tables."""

    def __init__(self, port: str, what: str, theirs: int, ours: int) -> None:
        newer = "this tool" if theirs > ours else "the board's firmware"
        super().__init__(
            port,
            f"The board on {port} uses version {theirs} of the {what} and this tool version {ours}; update {newer}.",
        )
        self.what, self.theirs, self.ours = what, theirs, ours


class Unplugged(LinkError):
    """The port went away while `doing`."""

    def __init__(self, port: str, doing: str) -> None:
        super().__init__(
            port,
            f"The port {port} went away while the board was to {_as_verb(doing)}; plug the board in again, and look "
            "at `sequencer state` before anything else. It has not been armed again.",
        )
        self.doing = doing


class BoardRefused(BoardError):
    """The board said no to `request`, with a `code` of the table of refusals and a `detail`."""

    def __init__(self, request: str, code: int, detail: int) -> None:
        self.request, self.code, self.detail = request, code, detail
        profile = profile_by_kind(detail)
        self.reason = refusal_sentence(code, detail, profile.name if profile else None)
        super().__init__(f"The board refused to {_as_verb(request)}: {self.reason}.")


def _as_verb(request: str) -> str:
    """What was asked, in a builder's words."""
    said = {"identify": "say who it is", "state": "tell its state", "levels": "tell its levels",
            "piece": "take the new show", "open upload": "take a new show", "close and verify": "prove the new show",
            "commit": "go over to the new show", "confirm": "keep the new show",
            "heartbeat": "take the heartbeat", "trip": "trip a sensor", "drive": "drive an output",
            "reset alarm": "reset the alarm", "read log": "tell its log", "read back": "tell its program"}  # fmt: skip
    return said.get(request, request)


class FlashError(BoardError):
    """A program was not loaded."""


class WrongBoardKind(FlashError):
    """The program is for another kind of board than the one that is meant."""

    def __init__(self, program_for: str, board_is: str) -> None:
        super().__init__(f"The program is for {program_for} and the board is {board_is}; nothing was written.")
        self.program_for, self.board_is = program_for, board_is


class BadImage(FlashError):
    """The bytes are no program for this board; `reason` is the first fault found."""

    def __init__(self, reason: str) -> None:
        super().__init__(f"The program was not sent, since it is not fit for the board: {reason.rstrip('.')}.")
        self.reason = reason


class VerifyFailed(FlashError):
    """What the board holds differs from what was sent, first at byte `offset`."""

    def __init__(self, offset: int, sent: int, held: int) -> None:
        super().__init__(
            f"The board holds {held} bytes where {sent} were sent and they differ first at byte {offset}; "
            "the program before it is still live. Try again; if it fails anew, its memory may be worn."
        )
        self.offset, self.sent, self.held = offset, sent, held


class BackupFailed(FlashError):
    """The old program could not be written to a file."""

    def __init__(self, path: str, reason: str) -> None:
        super().__init__(f"The old program could not be kept in {path} ({reason}); nothing was written to the board.")
        self.path, self.reason = path, reason


_MISSING = (errno.ENOENT, errno.ENXIO, errno.ENODEV)
_BUSY = (errno.EAGAIN, errno.EWOULDBLOCK, errno.EBUSY)
_REASONS: dict[int | None, str] = {
    errno.ENOTTY: "it is no serial port",
    errno.EISDIR: "it is a folder and no serial port",
    errno.EINVAL: "the system does not take it for a serial port",
    errno.ECONNREFUSED: "nothing takes calls at that address; see that the board, or the program before it, runs",
    errno.ETIMEDOUT: "nothing answers at that address",
    errno.EHOSTUNREACH: "there is no way to that address from here",
    errno.EIO: "the system could not speak with it; unplug it and plug it in again",
    socket.EAI_NONAME: "there is no computer of that name",
}


def port_error(port: str, fault: Exception, system: str = sys.platform) -> PortError:
    """The error of this family for what the system raised when `port` was opened."""
    number = _number_of(fault)
    text = str(fault)
    if system == "win32" and number is None:
        # The Windows half of the library hands no number on, only the words of the system's own error.
        number = errno.ENOENT if "FileNotFoundError" in text else number
        number = errno.EBUSY if "PermissionError" in text else number
    if number in _MISSING:
        return PortMissing(port)
    if number in _BUSY:
        return PortBusy(port)
    if number in (errno.EACCES, errno.EPERM):
        return PortForbidden(port, system=system)
    return PortUnusable(port, _REASONS.get(number, "") or _reason(fault))


def _number_of(fault: BaseException) -> int | None:
    """The system's number for the fault. The serial library often keeps it only in the fault that lies below."""
    below: BaseException | None = fault
    while below is not None:
        number = getattr(below, "errno", None)
        if number is None and type(below).__module__ == "termios" and below.args:
            number = below.args[0]
        if isinstance(number, int):
            return number
        below = below.__cause__ or below.__context__
    return None


def _reason(fault: BaseException) -> str:
    """The words that came with the fault, without its number."""
    text = getattr(fault, "strerror", None) or str(fault)
    return re.sub(r"\[Errno [^\]]*\]\s*", "", text).rstrip(".") or type(fault).__name__
