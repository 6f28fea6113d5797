"""A dry run in real time: the clock drives the session, keys trip its sensors, events are said as they come.

Clock, keys and mouth are passed in, so that a test can hold them. How a key is read from a terminal is
`keyboard`'s, how an event is worded is the caller's.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from sequencer.dryrun.session import Happening, Session
from sequencer.dryrun.timeline import InputInfo, Timeline
from sequencer.dryrun.triggers import DEFAULT_TRIP
from sequencer.steps.program import TICKS_PER_SECOND, InputKind

LEAVE = frozenset({"q", "\x1b", "\x03"})
"""q, Esc and Ctrl-C: one of them is on every keyboard."""

STOP = " "
ARM = "\r"

_LETTERS = "abcdefghijklmnoprstuvwxyz"
_DIGITS = "123456789"
_LOOK_S = 0.01


class Clock(Protocol):
    def now(self) -> float:
        """Seconds that never run backwards, from an origin of no meaning."""
        ...


class Keys(Protocol):
    def read(self, timeout_s: float) -> str | None:
        """The next key as one character, or None when none came in that time."""
        ...


@dataclass(frozen=True, slots=True)
class KeyMap:
    """Which key trips which input. A capital letter holds the sensor until it is pressed again."""

    trips: dict[str, int]

    def input_of(self, key: str) -> tuple[int, bool] | None:
        """The input, and whether it is to be held."""
        if key in self.trips:
            return self.trips[key], False
        low = key.lower()
        return (self.trips[low], True) if key != low and low in self.trips else None


def map_keys(inputs: Sequence[InputInfo]) -> KeyMap:
    """Letters from a on in the order of the inputs, without q, then digits. Sensors that rods trip have none.

    >>> map_keys([InputInfo(0, "step", InputKind.TRIGGER), InputInfo(1, "mat", InputKind.TRIGGER)]).trips
    {'a': 0, 'b': 1}
    """
    by_hand = [one.index for one in inputs if one.kind is not InputKind.END_OF_TRAVEL]
    return KeyMap(dict(zip(_LETTERS + _DIGITS, by_hand, strict=False)))


@dataclass(frozen=True, slots=True)
class Pace:
    """What a run in real time goes by. `say` is given what happened, `answer` what a key did or could
    not do."""

    clock: Clock
    keys: Keys
    say: Callable[[Happening], None]
    answer: Callable[[str], None]
    until: int | None = None


def run_paced(session: Session, keymap: KeyMap, pace: Pace) -> Timeline:
    """Runs until a key leaves it or `until` ticks have run. A key counts at the tick at which it is read."""
    with contextlib.suppress(KeyboardInterrupt):
        _run_until_left(session, keymap, pace)
    return session.timeline()


def _run_until_left(session: Session, keymap: KeyMap, pace: Pace) -> None:
    began = pace.clock.now()
    held: set[int] = set()
    # The board is powered up before the first key counts; what is tripped while it is armed starts nothing.
    for happening in session.advance(max(session.tick, 1)):
        pace.say(happening)
    while pace.until is None or session.tick < pace.until:
        key = pace.keys.read(_LOOK_S)
        now = int((pace.clock.now() - began) * TICKS_PER_SECOND)
        for happening in session.advance(
            max(session.tick, now if pace.until is None else min(now, pace.until))
        ):
            pace.say(happening)
        if key in LEAVE:
            break
        if key is not None:
            _press(key, session, keymap, held, pace.answer)


def _press(key: str, session: Session, keymap: KeyMap, held: set[int], answer: Callable[[str], None]) -> None:
    if key == STOP:
        session.stop()
        return
    if key in (ARM, "\n"):
        refused = session.arm()
        if refused:
            answer(f"not armed: {refused}")
        return
    found = keymap.input_of(key)
    if found is None:
        answer(f"the key {key!r} trips nothing" if key.isprintable() else "that key trips nothing")
        return
    index, hold = found
    name = session.setup.yard.inputs[index].sensor
    if index in held:
        held.discard(index)
        session.hold(index, False)
        answer(f"{name} let go")
    elif hold:
        held.add(index)
        session.hold(index, True)
        answer(f"{name} held; the same key lets go")
    else:
        session.trip(index, session.setup.program.inputs[index].settle + DEFAULT_TRIP)
