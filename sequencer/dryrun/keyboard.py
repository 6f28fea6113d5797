"""The keys of a terminal, one at a time and without the return key, on POSIX systems and on Windows.

The terminal is put back as it was when the block is left, however it is left. What a key means is `pace`'s.
"""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Protocol

_SEQUENCE_S = 0.03
"""The rest of an arrow key follows its Esc within this; a person who presses Esc is done (assumed)."""


class NoKeyboard(Exception):
    """There is no terminal to read keys from."""


class TerminalClock:
    """The clock of this computer."""

    def now(self) -> float:
        return time.monotonic()


class _Keys(Protocol):
    def read(self, timeout_s: float) -> str | None: ...


@contextmanager
def keys_of(stream: IO[str]) -> Iterator[_Keys]:
    """The keys of the terminal that `stream` reads from. Raises NoKeyboard where it is none."""
    if not stream.isatty():
        raise NoKeyboard
    if sys.platform == "win32":
        yield _WindowsKeys()
        return
    import termios
    import tty

    number = stream.fileno()
    before = termios.tcgetattr(number)
    try:
        tty.setcbreak(number)
        yield PosixKeys(number)
    finally:
        termios.tcsetattr(number, termios.TCSADRAIN, before)


class PosixKeys:
    """Keys from a file descriptor. A key of several bytes, such as an arrow, is one key that means
    nothing."""

    def __init__(self, number: int) -> None:
        self._number = number

    def read(self, timeout_s: float) -> str | None:
        if not self._waits(timeout_s):
            return None
        first = os.read(self._number, 1)
        if not first:
            # The terminal has gone: as if the person had left.
            return "\x1b"
        if first == b"\x1b" and self._waits(_SEQUENCE_S):
            os.read(self._number, 32)
            return "\x00"
        if first[0] >= 0x80:
            first += os.read(self._number, 3) if self._waits(0) else b""
        return first.decode("utf-8", "replace")[:1]

    def _waits(self, timeout_s: float) -> bool:
        return bool(select.select([self._number], [], [], timeout_s)[0])


class _WindowsKeys:
    """Keys from the console. Special keys come as two characters; they are one key that means nothing."""

    def read(self, timeout_s: float) -> str | None:
        import msvcrt

        until = time.monotonic() + timeout_s
        while not msvcrt.kbhit():
            if time.monotonic() >= until:
                return None
            time.sleep(0.005)
        key: str = msvcrt.getwch()
        if key in ("\x00", "\xe0"):
            msvcrt.getwch()
            return "\x00"
        return key
