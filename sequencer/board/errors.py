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
import sys

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
        super().__init__(port, f"There is no port {port}; plug the board in, or list the ports there are.")


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
            f"Nothing on {port} answered `{doing}`, asked {asked} times at {at} baud; "
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
            f"The port {port} went away during `{doing}`; plug the board in again and read its state before "
            "anything else. It has not been armed again.",
        )
        self.doing = doing


class BoardRefused(BoardError):
    """The board said no to `request`, with a `code` of the table of refusals and a `detail`."""

    def __init__(self, request: str, code: int, detail: int) -> None:
        self.request, self.code, self.detail = request, code, detail
        self.reason = refusal_sentence(code, detail)
        super().__init__(f"The board refused to {_as_verb(request)}: {self.reason}.")


def _as_verb(request: str) -> str:
    said = {"state": "tell its state", "levels": "tell its levels", "piece": "take a piece of the program",
            "heartbeat": "take the heartbeat", "trip": "trip the input", "drive": "drive the output",
            "reset alarm": "reset the alarm", "open upload": "open an upload", "read log": "read its log",
            "read back": "read the program back"}  # fmt: skip
    return said.get(request, request)


class FlashError(BoardError):
    """A program was not loaded."""


class WrongBoardKind(FlashError):
    """The program is for another kind of board than the one that answered."""

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


def port_error(port: str, fault: Exception, system: str = sys.platform) -> PortError:
    """The error of this family for what the system raised when `port` was opened."""
    number = getattr(fault, "errno", None)
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
    return PortUnusable(port, text.rstrip(".") or type(fault).__name__)
