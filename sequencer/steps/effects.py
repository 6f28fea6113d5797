"""What a write makes of an output over time: a level, a fade, a pulse, a flash, a flicker.

An effect has a level, the tick of its next change, and a way to make that change. What of it reaches the pin
is left to `outputs`, which holds the limits.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.steps.program import ON
from sequencer.steps.random32 import Random32

FLICKER_PERIOD = 50
"""Ticks between two levels of a flicker: 20 a second, common practice for flame lamps, no source."""


@dataclass(slots=True)
class Hold:
    """A level, for good."""

    level: int
    next: int | None = None
    clip: int | None = None
    hurry_at_end: bool = False

    def change(self, tick: int, draws: Random32) -> None:
        """Nothing ever changes."""


@dataclass(slots=True)
class Pulse:
    """A level until the tick `next`, then `after`: a pulse, a clip, a drive by hand."""

    level: int
    next: int | None
    after: int = 0
    clip: int | None = None
    hurry_at_end: bool = False

    def change(self, tick: int, draws: Random32) -> None:
        """The end."""
        self.level, self.next = self.after, None


@dataclass(slots=True)
class Flash:
    """On for `half` ticks, off for `half`, and so on, off at `end`."""

    half: int
    end: int
    next: int | None
    level: int = 0
    clip: int | None = None
    hurry_at_end: bool = False

    def change(self, tick: int, draws: Random32) -> None:
        """On or off, or the end."""
        if tick >= self.end:
            self.level, self.next = 0, None
        else:
            self.level, self.next = ON - self.level, min(tick + self.half, self.end)


@dataclass(slots=True)
class Flicker:
    """A level drawn from `lo` to `hi` every 50 ticks, `lo` at `end`."""

    lo: int
    hi: int
    end: int
    next: int | None
    level: int = 0
    clip: int | None = None
    hurry_at_end: bool = False

    def change(self, tick: int, draws: Random32) -> None:
        """A new level, or the end."""
        if tick >= self.end:
            self.level, self.next = self.lo, None
        else:
            self.level = self.lo + draws.below(self.hi - self.lo + 1)
            self.next = min(tick + FLICKER_PERIOD, self.end)


@dataclass(slots=True)
class Fade:
    """From `level` at tick `begin` to `to` at `next`; `level` is `to` once that has come."""

    level: int
    to: int
    begin: int
    next: int | None
    clip: int | None = None
    hurry_at_end: bool = False

    def change(self, tick: int, draws: Random32) -> None:
        """The end."""
        self.level, self.next = self.to, None

    def ramp(self) -> Ramp:
        """What is left of it to see, from `begin` on."""
        assert self.next is not None
        return Ramp(self.level, self.to, self.begin, self.next)


Effect = Hold | Pulse | Flash | Flicker | Fade


@dataclass(frozen=True, slots=True)
class Ramp:
    """An even way from one level to another between two ticks."""

    start: int
    to: int
    begin: int
    end: int

    def at(self, tick: int) -> int:
        """The level in a tick: start + (to - start) * elapsed / total, the product divided towards zero.

        >>> [Ramp(0, 3, 100, 110).at(t) for t in (100, 103, 104, 109, 110, 111)]
        [0, 0, 1, 2, 3, 3]
        """
        if tick >= self.end:
            return self.to
        elapsed, total = tick - self.begin, self.end - self.begin
        if self.to >= self.start:
            return self.start + (self.to - self.start) * elapsed // total
        return self.start - (self.start - self.to) * elapsed // total
