"""What laying out a block gives: its nodes, how long it takes, what happens in it, and what it leaves behind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace

from sequencer.findings import Finding
from sequencer.frozen import frozen
from sequencer.schedule.motions import Rig
from sequencer.schedule.nodes import Node
from sequencer.schedule.plan import Line, Moment, Travel, Window
from sequencer.schedule.standing import State

TOLD = 3
"""So many reasons for a longest time are told; one more is kept, which says that there are others."""


@frozen
class Takes:
    """A least and a most time in whole ticks (given in microseconds); `why` says what must be so for the most, at
    least `TOLD` of it where there is more.
    """

    lo: int = 0
    hi: int = 0
    why: tuple[str, ...] = ()

    @property
    def fixed(self) -> bool:
        return self.lo == self.hi

    def then(self, lo: int, hi: int, why: tuple[str, ...] = ()) -> Takes:
        # A scare of ten thousand random waits would else copy as many reasons with each of them.
        return Takes(self.lo + lo, self.hi + hi, self.why if len(self.why) > TOLD else self.why + why)


@frozen
class Laid:
    """A block laid out. Moments and lines count from its start, state and `pending` from its end.

    `pending` says by output, cylinder or speaker how long after its end, at most, something that it started still
    goes on. `framed` says that its nodes have an `Until` that counts from the block's start.
    """

    nodes: tuple[Node, ...]
    takes: Takes
    state: State
    pending: Mapping[object, int]
    moments: tuple[Moment, ...]
    lines: tuple[Line, ...]
    framed: bool

    @property
    def pending_us(self) -> int:
        """How long after its end the last of it has ended."""
        return max(self.pending.values(), default=0)


@frozen
class Setting:
    """What stays the same while a routine is laid out; `findings` collects what is wrong."""

    rig: Rig
    routine: str
    findings: list[Finding] = field(default_factory=list)

    def quiet(self) -> Setting:
        """The same, for a trial whose findings do not count."""
        return Setting(self.rig, self.routine)


def moment_later(moment: Moment, by: Window, path: tuple[str, ...] = (), again: bool = False) -> Moment:
    """The same moment, counted from a point that is earlier by that window."""
    return Moment(
        moment.routine, moment.cue, moment.action, moment.drive, moment.earliest_us + by[0], moment.latest_us + by[1],
        window_later(moment.written_us, by), window_later(moment.ends_us, by), moment.commands, path + moment.path,
        tuple(travel_later(one, by) for one in moment.travels), moment.again or again, moment.goes_back,
    )


def line_later(line: Line, by: Window, path: tuple[str, ...] = (), again: bool = False) -> Line:
    """The same line, counted from a point that is earlier by that window."""
    return Line(line.cue, window_later(line.starts_us, by), window_later(line.ends_us, by), path + line.path,
                line.again or again)


def travel_later(travel: Travel, by: Window) -> Travel:
    return replace(travel, arrives_us=window_later(travel.arrives_us, by))


def window_later(window: Window, by: Window) -> Window:
    return window[0] + by[0], window[1] + by[1]
