"""A line between the tool and a board in hand that loses, doubles, turns, holds back and swaps bytes, or is cut."""

from __future__ import annotations

import random

from sequencer.board.link import Link
from tests.firmware.core.whole import Whole, WholeClock, WholePort

FAULTS = ("drop", "double", "flip", "delay", "swap")


class BadLine(WholePort):
    """One byte in `one_in` suffers; after `frames` of both ways, if that is given, nothing passes any more."""

    def __init__(self, board: Whole, draws: random.Random, one_in: int, frames: int | None = None) -> None:
        super().__init__(board)
        self._draws = draws
        self._one_in = one_in
        self._left = frames
        self._within = {True: False, False: False}
        self._held: dict[bool, bytes] = {True: b"", False: b""}
        self.suffered = 0

    def write(self, data: bytes) -> int:
        passing = self._before_the_cut(data, going=True)
        if passing:
            super().write(self._through(passing, going=True))
        return len(data)

    def read(self, size: int = 1) -> bytes:
        heard = super().read(max(size, 1))
        return self._through(self._before_the_cut(heard, going=False), going=False)

    def _before_the_cut(self, data: bytes, going: bool) -> bytes:
        """As much of it as passes while frames are left: each ends with a zero."""
        if self._left is None:
            return data
        out = bytearray()
        for byte in data:
            if self._left == 0:
                break
            out.append(byte)
            if byte == 0 and self._within[going]:
                self._left -= 1
            self._within[going] = byte != 0
        return bytes(out)

    def _through(self, data: bytes, going: bool) -> bytes:
        """What comes out at the other end: what was held back comes first, late by the time between two calls."""
        out = bytearray(self._held[going])
        self._held[going] = b""
        for at, byte in enumerate(data):
            fault = self._draws.choice(FAULTS) if self._draws.randrange(self._one_in) == 0 else ""
            self.suffered += bool(fault)
            if fault == "delay":
                self._held[going] = data[at:]
                break
            out += {
                "drop": b"",
                "double": bytes([byte, byte]),
                "flip": bytes([byte ^ 1 << self._draws.randrange(8)]),
            }.get(fault, bytes([byte]))
            if fault == "swap" and len(out) > 1:
                out[-1], out[-2] = out[-2], out[-1]
        return bytes(out)


def link_over(line: BadLine, board: Whole) -> Link:
    """A conversation over the line."""
    return Link(line, "a bad line", clock=WholeClock(board))
