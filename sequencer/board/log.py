"""The board's log: events of the rules to entries of 8 bytes, kept in a ring, and entries to plain words.

Output edges are not logged: there are too many, and they follow from the rest. The state of the random
generator and the inputs that are tripped are logged at arming, so that what follows can be played again.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from sequencer.steps import (
    Cause,
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Ended,
    Event,
    Fault,
    FaultCode,
    InputChanged,
    Killed,
    Mode,
    ModeChanged,
    Skipped,
    SkipReason,
    Started,
)  # fmt: skip
from sequencer.steps.program import ON

ENTRY_BYTES = 8
_NUMBERS = 1 << 16


class LogKind(IntEnum):
    """What an entry tells; the numbers go on the line."""

    STARTED = 1
    SKIPPED = 2
    ENDED = 3
    KILLED = 4
    MODE = 5
    FAULT = 6
    INPUT = 7
    CLIP_STARTED = 8
    CLIP_ENDED = 9
    CLIP_SILENCED = 10
    POWERED_UP = 16
    RANDOM_LOW = 17
    RANDOM_HIGH = 18
    DRIVEN = 19
    TRIPPED = 20


class StartCause(IntEnum):
    """Why the board started; the numbers go on the line."""

    POWER = 0
    WATCHDOG = 1
    COMMIT = 2


CAUSE_NUMBERS: dict[Cause, int] = {
    Cause.TRIGGER: 1,
    Cause.EVERY: 2,
    Cause.STEP: 3,
    Cause.IDLE: 4,
    Cause.ONCE_MORE: 5,
    Cause.RESTART: 6,
    Cause.GIVES_WAY: 7,
    Cause.SLOT_NEEDED: 8,
    Cause.BY_HAND: 9,
    Cause.STOP_INPUT: 10,
    Cause.ALARM_INPUT: 11,
    Cause.LINK_LOST: 12,
    Cause.ARMED: 13,
}
"""Numbers of the causes on the line; 0 is a cause that has none."""
SKIP_NUMBERS: dict[SkipReason, int] = {
    SkipReason.RUNNING: 1,
    SkipReason.PENDING: 2,
    SkipReason.RESTING: 3,
    SkipReason.BLOCKED: 4,
    SkipReason.WARMING_UP: 5,
    SkipReason.NO_SLOT: 6,
    SkipReason.TWICE: 7,
}
"""Numbers of the reasons for a skipped start on the line; 0 is a reason that has none."""


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One entry. `tick` counts ms since the board started; what `subject` and `value` are, `kind` says."""

    tick: int
    kind: int
    subject: int
    value: int

    def pack(self) -> bytes:
        """The 8 bytes of the entry."""
        head = (self.tick & 0xFFFFFFFF).to_bytes(4, "little")
        return head + bytes([self.kind, self.subject]) + self.value.to_bytes(2, "little")


def unpack_entry(data: bytes) -> LogEntry:
    """The entry of 8 bytes."""
    assert len(data) == ENTRY_BYTES
    return LogEntry(int.from_bytes(data[:4], "little"), data[4], data[5], int.from_bytes(data[6:], "little"))


def entry_of(event: Event) -> LogEntry | None:
    """The entry that an event leaves, or None for one that is not logged."""
    match event:
        case Started(tick, routine, cause, subject):
            source = 0xFF if subject is None else subject
            return LogEntry(tick, LogKind.STARTED, routine, CAUSE_NUMBERS.get(cause, 0) | source << 8)
        case Skipped(tick, routine, reason):
            return LogEntry(tick, LogKind.SKIPPED, routine, SKIP_NUMBERS.get(reason, 0))
        case Ended(tick, routine):
            return LogEntry(tick, LogKind.ENDED, routine, 0)
        case Killed(tick, routine, cause):
            return LogEntry(tick, LogKind.KILLED, routine, CAUSE_NUMBERS.get(cause, 0))
        case ModeChanged(tick, mode, cause):
            return LogEntry(tick, LogKind.MODE, mode, CAUSE_NUMBERS.get(cause, 0))
        case Fault(tick, code, subject):
            return LogEntry(tick, LogKind.FAULT, subject, code)
        case InputChanged(tick, index, tripped):
            return LogEntry(tick, LogKind.INPUT, index, int(tripped))
        case _:
            return _entry_of_clip(event)


def _entry_of_clip(event: Event) -> LogEntry | None:
    match event:
        case ClipStarted(tick, clip):
            return LogEntry(tick, LogKind.CLIP_STARTED, clip, 0)
        case ClipEnded(tick, clip):
            return LogEntry(tick, LogKind.CLIP_ENDED, clip, 0)
        case ClipSilenced(tick, clip):
            return LogEntry(tick, LogKind.CLIP_SILENCED, clip, 0)
        case _:
            return None


class LogRing:
    """The last entries, numbered on and on (16 bits); the oldest give way."""

    __slots__ = ("_entries", "_next")

    def __init__(self, room: int, entries: Iterable[LogEntry] = (), next_number: int = 0) -> None:
        self._entries: deque[LogEntry] = deque(entries, maxlen=room)
        self._next = next_number

    @property
    def next_number(self) -> int:
        """Number the next entry will carry."""
        return self._next

    def add(self, entry: LogEntry) -> None:
        """Takes in an entry."""
        self._entries.append(entry)
        self._next = (self._next + 1) % _NUMBERS

    def entries(self) -> tuple[LogEntry, ...]:
        """All there are, oldest first."""
        return tuple(self._entries)

    def since(self, first: int, most: int) -> tuple[int, tuple[LogEntry, ...]]:
        """Up to `most` entries from number `first`, or from the oldest there is, with the first one's number.

        A number that has not been given yet, or has long gone, counts as the oldest there is.
        """
        back = (self._next - first) % _NUMBERS
        back = min(back, len(self._entries))
        start = len(self._entries) - back
        return (self._next - back) % _NUMBERS, tuple(self._entries)[start : start + most]


@dataclass(frozen=True, slots=True)
class LogNames:
    """Names of what the entries number, where the caller has them; a number is said where one is missing."""

    outputs: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    routines: tuple[str, ...] = ()
    clips: tuple[str, ...] = ()


_MODES = {
    Mode.DISARMED: "disarmed",
    Mode.ARMED: "armed",
    Mode.STOPPED: "stopped",
    Mode.ALARMED: "house alarm",
}
_STARTS = {
    StartCause.POWER: "the board started",
    StartCause.WATCHDOG: "the board hung and started again by itself",
    StartCause.COMMIT: "the board started on a new program",
}


def log_rows(entries: Sequence[tuple[int, LogEntry]], names: LogNames) -> Iterator[tuple[int, LogEntry, str]]:
    """Numbered entries with their words, for people: the two halves of the state of the random waits are one row."""
    for (number, entry), (_, after) in zip(entries, [*entries[1:], (0, None)], strict=True):
        if entry.kind == LogKind.RANDOM_LOW and after is not None and after.kind == LogKind.RANDOM_HIGH:
            yield number, entry, f"the random waits go on from 0x{after.value:04X}{entry.value:04X}"
        elif entry.kind != LogKind.RANDOM_HIGH or not _follows_its_half(number, entries):
            yield number, entry, entry_words(entry, names)


def _follows_its_half(number: int, entries: Sequence[tuple[int, LogEntry]]) -> bool:
    return any((one + 1) % _NUMBERS == number and entry.kind == LogKind.RANDOM_LOW for one, entry in entries)


def entry_words(entry: LogEntry, names: LogNames = LogNames()) -> str:
    """The entry as plain words, without its time."""
    causes = {number: cause.value for cause, number in CAUSE_NUMBERS.items()}
    why = causes.get(entry.value & 0xFF, "unknown")
    scare = _named(names.routines, entry.subject, "scare")
    clip = _named(names.clips, entry.subject, "clip")
    match entry.kind:
        case LogKind.STARTED:
            source = entry.value >> 8
            who = _named(names.inputs, source, "input") if why == Cause.TRIGGER.value and source != 0xFF else why
            return f"{scare} started: {who}"
        case LogKind.SKIPPED:
            reasons = {number: reason.value for reason, number in SKIP_NUMBERS.items()}
            return f"{scare} did not start: {reasons.get(entry.value, 'unknown reason')}"
        case LogKind.ENDED:
            return f"{scare} ended"
        case LogKind.KILLED:
            return f"{scare} was cut short: {why}"
        case LogKind.MODE:
            return f"{_MODES.get(entry.subject, f'mode {entry.subject}')}: {why}"
        case LogKind.FAULT:
            return _fault_words(entry, names)
        case LogKind.INPUT:
            return f"{_named(names.inputs, entry.subject, 'input')} {'trips' if entry.value else 'clears'}"
        case LogKind.CLIP_STARTED | LogKind.CLIP_ENDED | LogKind.CLIP_SILENCED:
            what = {LogKind.CLIP_STARTED: "plays", LogKind.CLIP_ENDED: "ended"}.get(entry.kind, "was cut short")
            return f"{clip} {what}"
        case _:
            return _own_words(entry, names)


def _fault_words(entry: LogEntry, names: LogNames) -> str:
    if entry.value not in {int(code) for code in FaultCode}:
        return f"fault: of a kind that this version does not know (code {entry.value}, of number {entry.subject})"
    code = FaultCode(entry.value)
    if code is FaultCode.END_NOT_REACHED:
        who = _named(names.inputs, entry.subject, "input")
    else:
        who = _named(names.outputs, entry.subject, "output")
    return "fault: " + code.sentence.format(who)


def _own_words(entry: LogEntry, names: LogNames) -> str:
    match entry.kind:
        case LogKind.POWERED_UP:
            holds = f"load {entry.value} since its memory was new" if entry.value else "without a program"
            return f"{_STARTS.get(entry.subject, 'the board started')}, {holds}"
        case LogKind.RANDOM_LOW | LogKind.RANDOM_HIGH:
            half = "lower" if entry.kind == LogKind.RANDOM_LOW else "upper"
            return f"the random waits go on from a number whose {half} half is 0x{entry.value:04X}"
        case LogKind.TRIPPED:
            return f"tripped at that time: {_tripped_words(entry.value, names)}"
        case LogKind.DRIVEN:
            level = {0: "off", ON: "on"}.get(entry.value, f"at {100 * entry.value / ON:.0f} %")
            return f"{_named(names.outputs, entry.subject, 'output')} driven by hand, {level}"
        case _:
            return (
                f"an entry of a kind that this version does not know: {entry.kind}, {entry.subject}, {entry.value}"
            )


def _tripped_words(mask: int, names: LogNames) -> str:
    return ", ".join(_named(names.inputs, bit, "input") for bit in range(16) if mask >> bit & 1) or "no sensor"


def _named(names: tuple[str, ...], index: int, noun: str) -> str:
    return names[index] if index < len(names) else f"{noun} {index}"
