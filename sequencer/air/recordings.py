"""Motions that were reckoned once -> followed again, window by window, as long as the supply is what it was then.

A show does the same over and over: what a window of a motion came to is kept as an `Entry`, in the order of the
windows since the valve was told to move. Another motion of the same cylinder (or of one like it) that begins from the
same state within `NEAR` takes the entries over while the pressures before its valve stay within `NEAR` of those then.
Where they do not, it goes on from the last entry by reckoning. What one takes over with a little more or less air in
its chambers than it had is counted as drawn, so no air is lost.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

from sequencer.air.integrate import Event
from sequencer.air.standing import StillPort

NEAR = 5e-3
"""Share of a pressure by which the supply may differ from what it was. Measured on 16 cylinders for 60 s: arrivals
within 0.3 % of those reckoned without recordings, air within 0.11 %, pressures within 0.15 %."""
NEAR_MASS = 5e-3
NEAR_PLACE_M, NEAR_SPEED_M_S = 2e-4, 1e-2
MOST_OF_A_KIND = 12
"""Recordings of one command to one kind of cylinder that are kept, the oldest is dropped."""


@dataclass(frozen=True, slots=True)
class Air:
    """The state of a cylinder between two windows: way it slides (0: stands), place, speed, gases, next step."""

    mode: int
    x: float
    v: float
    h: float
    gases: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A window: its length, the pressures before the valve, what was drawn, let out, and came through the
    valve into either end, what happened, how it ended.

    Times of events and samples (t, x, v, gases...) are since the window began. `passed` pieces of the valve's way are
    over at its end. `still` where the rod has come to rest with settled air.
    """

    length_s: float
    before_pa: float
    after_pa: float
    drawn_kg: float
    exhausted_kg: float
    flows_kg: tuple[float, float]
    events: tuple[Event, ...]
    end: Air
    passed: int
    still: tuple[StillPort, ...] | None
    samples: tuple[tuple[float, ...], ...] = ()

    def fits_still(self, after_pa: float) -> bool:
        """Whether it may stay as it is while the pressures of its window are being agreed on."""
        return abs(self.after_pa - after_pa) < NEAR * after_pa


@dataclass(slots=True, eq=False)
class Recording:
    """The windows of one motion, written by who reckons them. `coming` is that of the present window, while its
    pressures are not agreed on yet."""

    start: Air
    entries: list[Entry] = field(default_factory=list)
    coming: Entry | None = None

    def at(self, index: int) -> Entry | None:
        """The window with this number, if it is known."""
        known = len(self.entries)
        return self.entries[index] if index < known else self.coming if index == known else None

    def state(self, index: int) -> Air:
        """Before the window with this number."""
        return self.entries[index - 1].end if index else self.start


class Recordings:
    """All that are kept, by what the valve was told and what cylinder it is on."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, list[Recording]] = {}
        self._numbers: dict[Hashable, int] = {}

    def number_of(self, kind: Hashable) -> int:
        """A number for a cylinder, the same for one that is like it in everything."""
        return self._numbers.setdefault(kind, len(self._numbers))

    def of(self, key: Hashable) -> list[Recording]:
        return self._kept.setdefault(key, [])


class Follower:
    """Where one cylinder stands in the recordings. `extra_kg`: what it takes on with the entry it has just got."""

    def __init__(self, recordings: Recordings, kind: Hashable) -> None:
        self._all, self._kind = recordings, recordings.number_of(kind)
        self._alike: list[Recording] = []
        self._path: Recording | None = None
        self._own: Recording | None = None
        self._next: Recording | None = None
        self._begun = Air(0, 0.0, 0.0, 0.0, ())
        self._done: list[Entry] = []
        self.followed = self.reckoned = 0

    def begins(self, told: Hashable, state: Air) -> None:
        """The valve has been told something: a motion begins, whatever was going on."""
        self._alike = self._all.of((self._kind, told))
        self._path = self._own = None
        self._begun, self._done = state, []

    def next_kg(self, length: float, before_pa: float) -> float | None:
        """What will be drawn in the next window, if it was drawn by the motion that is followed, or else by the last
        one of the kind, as much less as the pressure is lower; None where nothing is known."""
        index = len(self._done)
        paths = [self._path] if self._path is not None and self._path is not self._own else self._alike[-2:][::-1]
        for path in paths:
            entry = path.at(index) if path is not self._own else None
            if entry is not None and abs(entry.length_s - length) < 1e-9:
                return entry.drawn_kg if path is self._path else entry.drawn_kg * before_pa / entry.before_pa
        return None

    def find(self, length: float, before_pa: float, after_pa: float, state: Air) -> tuple[Entry, Air | None] | None:
        """The entry to take over, if one is near enough, with the state that it begins from where that is another."""
        path, index = self._path, len(self._done)
        if path is not None and path is not self._own:
            entry = path.at(index)
            if entry is not None and _fits(entry, length, before_pa, after_pa):
                self._next = path
                return entry, None
        best, nearest = None, NEAR
        for recording in self._alike:
            entry = recording.at(index) if recording is not self._own else None
            if entry is None or not _fits(entry, length, before_pa, after_pa):
                continue
            far = abs(entry.after_pa - after_pa) / after_pa
            if far <= nearest and _near(recording.state(index), state):
                best, nearest = recording, far
        self._next = best
        if best is None:
            return None
        entry = best.at(index)
        assert entry is not None
        return entry, best.state(index)

    def offers(self, entry: Entry) -> None:
        """An entry that was reckoned: it stands beside the recordings until it is agreed upon."""
        own = self._own
        if own is None or len(own.entries) != len(self._done):
            own = self._own = Recording(self._begun, list(self._done))
            self._alike.append(own)
            del self._alike[:-MOST_OF_A_KIND]
        own.coming = entry
        self._next = own

    def accept(self, entry: Entry, reckoned: bool) -> None:
        """The window is agreed upon."""
        self._path = self._next
        self._done.append(entry)
        if reckoned:
            self.reckoned += 1
            assert self._path is not None
            self._path.entries.append(entry)
            self._path.coming = None
        else:
            self.followed += 1


def _fits(entry: Entry, length: float, before_pa: float, after_pa: float) -> bool:
    return (abs(entry.before_pa - before_pa) < NEAR * before_pa and abs(entry.after_pa - after_pa) < NEAR * after_pa
            and abs(entry.length_s - length) < 1e-9)


def _near(one: Air, other: Air) -> bool:
    if one.mode != other.mode or abs(one.x - other.x) > NEAR_PLACE_M or abs(one.v - other.v) > NEAR_SPEED_M_S:
        return False
    return all(abs(a - b) <= NEAR_MASS * b + 1e-9 for a, b in zip(one.gases, other.gases, strict=True))

