"""What the rules report: one small value for each thing that happened, in the order in which it happened.

Every event carries the tick at which it took effect. How they are shown, logged or sent is left to others.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, IntEnum


class Mode(IntEnum):
    """What the board may do. It powers up disarmed; only a person arms it."""

    DISARMED = 0
    ARMED = 1
    STOPPED = 2
    ALARMED = 3


class Cause(Enum):
    """Why something started, was killed, or changed the mode."""

    TRIGGER = "an input"
    EVERY = "its own clock"
    STEP = "a step of another routine"
    IDLE = "nothing else runs"
    ONCE_MORE = "a start asked for while it ran"
    RESTART = "a new start"
    GIVES_WAY = "a scare of its prop runs"
    SLOT_NEEDED = "a scare needed its slot"
    BY_HAND = "a person"
    STOP_INPUT = "a stop input"
    ALARM_INPUT = "a house alarm"
    LINK_LOST = "the heartbeat was lost"
    ARMED = "the board was armed"


class SkipReason(Enum):
    """Why a start came to nothing."""

    RUNNING = "it is still running"
    PENDING = "one more run is already asked for"
    RESTING = "it rests after its last run"
    BLOCKED = "the input that holds it back has not cleared since its last start"
    WARMING_UP = "its sensor is still warming up"
    NO_SLOT = "no free slot"
    TWICE = "it has already started in this tick"


class FaultCode(IntEnum):
    """What the board logs as a fault; the numbers are those it sends."""

    LONGEST_ON = 1
    EXCLUSION = 2
    END_NOT_REACHED = 3
    LINK_LOST = 4

    @property
    def sentence(self) -> str:
        """What the fault means, for a person; `{}` stands for the subject's name."""
        return _SENTENCES[self]


_SENTENCES = {
    FaultCode.LONGEST_ON: "{} was on for as long as it may be and was switched off",
    FaultCode.EXCLUSION: "{} stayed off because another output of its group is on",
    FaultCode.END_NOT_REACHED: "{} did not report the end of a motion within its bound",
    FaultCode.LINK_LOST: "the heartbeat was lost, so the board stopped",
}


@dataclass(frozen=True, slots=True)
class OutputEdge:
    """The output takes `level` at `tick`, or, if `over` > 0, goes there evenly in that many ticks.

    A fade starts from the level that the edges before it have led to. One that is cut short by another fade,
    or frozen by a shortest on-time, is followed in that tick by an edge with the level it had reached.
    """

    tick: int
    output: int
    level: int
    over: int = 0


@dataclass(frozen=True, slots=True)
class Started:
    """`subject` is the input for TRIGGER, the routine that asked for STEP, else None."""

    tick: int
    routine: int
    cause: Cause
    subject: int | None = None


@dataclass(frozen=True, slots=True)
class Skipped:
    """A start was asked for and came to nothing."""

    tick: int
    routine: int
    reason: SkipReason


@dataclass(frozen=True, slots=True)
class Ended:
    """The routine came to its end; its outputs stay as they are."""

    tick: int
    routine: int


@dataclass(frozen=True, slots=True)
class Killed:
    """The routine was cut short; the outputs that were its own go to their safe level in this tick."""

    tick: int
    routine: int
    cause: Cause


@dataclass(frozen=True, slots=True)
class ModeChanged:
    """The board is in another mode from this tick on."""

    tick: int
    mode: Mode
    cause: Cause


@dataclass(frozen=True, slots=True)
class Fault:
    """`subject` is an output (LONGEST_ON, EXCLUSION), an input (END_NOT_REACHED), or 0 (LINK_LOST)."""

    tick: int
    code: FaultCode
    subject: int


@dataclass(frozen=True, slots=True)
class InputChanged:
    """The settled state of an input, or a trip by hand."""

    tick: int
    input: int
    tripped: bool


@dataclass(frozen=True, slots=True)
class ClipStarted:
    """A clip was asked for; limits may keep its output off, and then it is silenced in the same tick."""

    tick: int
    clip: int


@dataclass(frozen=True, slots=True)
class ClipEnded:
    """The clip has played to its end."""

    tick: int
    clip: int


@dataclass(frozen=True, slots=True)
class ClipSilenced:
    """The clip was cut short."""

    tick: int
    clip: int


Event = (
    OutputEdge
    | Started
    | Skipped
    | Ended
    | Killed
    | ModeChanged
    | Fault
    | InputChanged
    | ClipStarted
    | ClipEnded
    | ClipSilenced
)
