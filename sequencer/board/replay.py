"""A board's log and its program -> the same night again, to the tick, and whether it comes out as the board noted it.

The log holds what reached the rules from outside: inputs as they settled, what a person asked, a heartbeat that was
lost, and at each arming the tripped inputs and the state of the random draws. From the first arming on all else
follows: scares, faults, clips and every edge of an output. Each is compared with what the log says.

What a log does not hold: how long a drive by hand lasted (taken as the longest it may), and what happened between
entries that the ring has lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sequencer.board.log import CAUSE_NUMBERS, SKIP_NUMBERS, LogEntry, LogKind, entry_of
from sequencer.steps import (
    Cause,
    Event,
    FaultCode,
    InputKind,
    Limits,
    Machine,
    Mode,
    OutputEdge,
    Program,
    SkipReason,
)
from sequencer.steps.rules import LONGEST_DRIVE

_ASKED = (LogKind.RANDOM_LOW, LogKind.RANDOM_HIGH, LogKind.TRIPPED, LogKind.DRIVEN, LogKind.POWERED_UP)
"""Entries that tell what was asked or found, and that no event of the rules leaves."""

Numbered = tuple[int, LogEntry]


class CannotReplay(Exception):
    """The log does not hold what a replay needs; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Difference:
    """Where the night came out otherwise than the board noted it: by the log, and by the rules; None is nothing."""

    logged: LogEntry | None
    played: LogEntry | None


@dataclass(frozen=True, slots=True)
class Replay:
    """The night from its first arming, at tick `begins`, to the last entry of the log, at tick `ends`.

    `compared` counts the entries that were held against what came out; `difference` is the first that is another.
    """

    begins: int
    ends: int
    compared: int
    difference: Difference | None
    edges: tuple[OutputEdge, ...]
    events: tuple[Event, ...]


def merged(logs: Iterable[Sequence[Numbered]]) -> tuple[Numbered, ...]:
    """Entries that were read at several times, each once, in order. Raises CannotReplay where some are missing."""
    known = dict(pair for log in logs for pair in log)
    numbers = sorted(known)
    for one, after in pairwise(numbers):
        if after != one + 1:
            raise CannotReplay(
                f"between the entries {one} and {after} some are missing; read the log more often, and give every file."
            )
    return tuple((number, known[number]) for number in numbers)


def replay(program: Program, limits: Limits, log: Sequence[Numbered]) -> Replay:
    """Plays the part of the log from its first arming to its end, or to where the board started anew.

    Raises CannotReplay where the board is never armed in it.
    """
    entries = [entry for _, entry in log]
    first = _first_arming(entries)
    night = _night(entries, first)
    begins, ends = night[0].tick, night[-1].tick
    state = night[0].value | night[1].value << 16
    settled = replace(program, inputs=tuple(replace(row, settle=0) for row in program.inputs))
    machine = Machine(settled, limits, state)
    for index, row in enumerate(program.inputs):
        machine.set_input(index, bool(night[2].value >> index & 1) != row.low_when_tripped)
    machine.advance(begins)
    player = _Player(settled, machine, night)
    events = player.play(ends)
    edges = tuple(event for event in events if isinstance(event, OutputEdge))
    return Replay(begins, ends, *_compare(night, events), edges, events)


def _first_arming(entries: Sequence[LogEntry]) -> int:
    arming = [LogKind.RANDOM_LOW, LogKind.RANDOM_HIGH, LogKind.TRIPPED]
    for at in range(len(entries)):
        if [entry.kind for entry in entries[at : at + 3]] == arming:
            return at
    raise CannotReplay("the board is not armed in this log, so there is nothing to play; read it after an arming.")


def _night(entries: Sequence[LogEntry], first: int) -> list[LogEntry]:
    """The entries from there to the end, or to the next start of the board. Raises CannotReplay."""
    rest = list(entries[first:])
    for one, after in pairwise(rest):
        if after.kind == LogKind.POWERED_UP:
            break
        if after.tick < one.tick:
            raise CannotReplay(
                f"the log runs backwards, from {one.tick} to {after.tick} ms; it is not as a board wrote it."
            )
    restarts = [at for at, entry in enumerate(rest) if entry.kind == LogKind.POWERED_UP]
    return rest[: restarts[0]] if restarts else rest


class _Player:
    """Does to the rules what the entries of a night say was done."""

    def __init__(self, program: Program, machine: Machine, night: Sequence[LogEntry]) -> None:
        self._program = program
        self._machine = machine
        self._night = night
        self._lost = [
            entry.tick
            for entry in night
            if entry.kind == LogKind.FAULT and entry.value == FaultCode.LINK_LOST
        ]
        self._events: list[Event] = []

    def play(self, ends: int) -> tuple[Event, ...]:
        for entry in self._night:
            self._come_to(entry.tick)
            self._do(entry)
        self._come_to(ends + 1)
        return tuple(self._events)

    def _come_to(self, tick: int) -> None:
        """Runs the ticks before it, with the heartbeats that the board must have had."""
        asked = self._program.heartbeat
        while asked and self._machine.tick < tick:
            lost = next((lost for lost in self._lost if lost >= self._machine.tick), None)
            last = tick if lost is None else lost - asked
            if self._machine.tick <= last:
                self._machine.heartbeat()
            onward = min(tick, self._machine.tick + max(asked // 2, 1))
            if self._machine.tick < last:
                onward = min(onward, last)
            self._events += self._machine.advance(onward)
        self._events += self._machine.advance(tick)

    def _do(self, entry: LogEntry) -> None:
        if entry.kind == LogKind.INPUT:
            self._change(entry)
        elif entry.kind == LogKind.DRIVEN:
            self._machine.drive(entry.subject, entry.value, LONGEST_DRIVE)
        elif entry.kind == LogKind.MODE and entry.value == CAUSE_NUMBERS[Cause.BY_HAND]:
            if entry.subject == Mode.ARMED:
                self._machine.arm()
            elif self._machine.mode is Mode.ALARMED:
                self._machine.reset_alarm()
            else:
                self._machine.disarm()

    def _change(self, entry: LogEntry) -> None:
        row = self._program.inputs[entry.subject]
        guards = row.kind in (InputKind.STOP, InputKind.ALARM)
        if entry.value and entry.tick < row.warm_up and not guards and not self._refused_as_cold(entry.tick):
            self._machine.press(entry.subject, self._held(entry))
        else:
            self._machine.set_input(entry.subject, bool(entry.value) != row.low_when_tripped)

    def _refused_as_cold(self, tick: int) -> bool:
        """In a warm-up only a trip by hand starts anything, and the log says of every other that it did not."""
        cold = SKIP_NUMBERS[SkipReason.WARMING_UP]
        return any((e.tick, e.kind, e.value) == (tick, LogKind.SKIPPED, cold) for e in self._night)

    def _held(self, trip: LogEntry) -> int:
        """How long the trip by hand lasted: to where the input clears, or to the end of the log."""
        same = (e for e in self._night if e.kind == LogKind.INPUT and e.subject == trip.subject and not e.value)
        return next((e.tick - trip.tick for e in same if e.tick > trip.tick), self._night[-1].tick + 1 - trip.tick)


def _compare(night: Sequence[LogEntry], events: Sequence[Event]) -> tuple[int, Difference | None]:
    logged = [entry for entry in night if entry.kind not in _ASKED]
    played = [entry for event in events if (entry := entry_of(event)) is not None]
    compared = 0
    for one, other in zip(logged, played, strict=False):
        if (one.tick, one.kind, one.subject, one.value) != (other.tick, other.kind, other.subject, other.value):
            return compared, Difference(one, other)
        compared += 1
    # The log ends within its last tick: what the rules say of that tick beyond it is no difference.
    if len(logged) > len(played):
        return compared, Difference(logged[compared], None)
    beyond = played[compared:]
    if beyond and beyond[0].tick < night[-1].tick:
        return compared, Difference(None, beyond[0])
    return compared, None
