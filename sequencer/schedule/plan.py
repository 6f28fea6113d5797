"""When everything happens: the result of `plan_show`, as values that checks, listing and compiler read.

All times are whole microseconds; a window (earliest, latest) counts from the start of the routine. A moment falls
on the tick nearest to its time (`ticks_of`), and what a window hangs on always falls on a whole tick, so that both
ends of a window may be rounded by themselves. The steps of a routine stand in `nodes`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.rig.drive import Drive
from sequencer.schedule.nodes import Node
from sequencer.show.model import Action, Cue, Routine

if TYPE_CHECKING:
    from sequencer.air.stroke import Stroke

Position = Literal["home", "out", "between", "moving", "either"]
Window = tuple[int, int]
"""The earliest and the latest, in microseconds."""

US_PER_TICK = 1000


def ticks_of(us: int) -> int:
    """The tick nearest to a time; the later one of two that are equally near.

    >>> ticks_of(1_499), ticks_of(1_500), ticks_of(-1_500)
    (1, 2, -1)
    """
    return (us + US_PER_TICK // 2) // US_PER_TICK


@frozen
class Travel:
    """One cylinder that a command sets moving.

    `before` is where it stands when the command comes ("moving": it may still be under way from an earlier one,
    "either": that depends on the path or on an earlier run). `stroke` starts from the place that makes it longest.
    `arrives_us`: when it is at `until` (a fraction of the stroke: 1 out, 0 home) in the slowest and the fastest case;
    in it is how much later than `stroke` it comes on a supply that gives way, `later_us`.
    """

    cylinder: str
    before: Position
    toward: Literal["out", "home", "stops"]
    stroke: Stroke | None
    until: float
    arrives_us: Window
    later_us: int = 0


@frozen
class Moment:
    """One drive of one action, at the time when the board does it (for `lands`: when the valve is switched).

    `commands` is what it does to outputs (none for a pulse that ends by itself, which is a moment of its own with
    `goes_back`). `written_us` is the time of its cue line, `ends_us` when what it started has ended. `path` says in
    words what must be so for it to happen ("if window.mat is tripped", "on every run 3"). `again` marks the second
    round of a repeat or of an idle; `goes_back` the end of a command that was given for a time.
    """

    routine: str
    cue: Cue
    action: Action
    drive: Drive
    earliest_us: int
    latest_us: int
    written_us: Window
    ends_us: Window
    commands: tuple[Drive, ...] = ()
    path: tuple[str, ...] = ()
    travels: tuple[Travel, ...] = ()
    again: bool = False
    goes_back: bool = False

    @property
    def span(self) -> Span:
        return self.action.span

    @property
    def line(self) -> int:
        return self.cue.span.line


@frozen
class Line:
    """One cue line: its time, and when it and what it started has ended (for a block: the whole of it)."""

    cue: Cue
    starts_us: Window
    ends_us: Window
    path: tuple[str, ...] = ()
    again: bool = False


@frozen
class PlannedRoutine:
    """A scare or idle with its times. `leaves` says where each cylinder it moves stands when it has ended."""

    routine: Routine
    nodes: tuple[Node, ...]
    shortest_us: int
    longest_us: int
    moments: tuple[Moment, ...]
    lines: tuple[Line, ...]
    leaves: Mapping[str, Position]


@frozen
class Plan:
    """All routines of a show, in the order of the show, and the lengths of clips they were planned with."""

    routines: tuple[PlannedRoutine, ...]
    clip_us: Mapping[tuple[str, str], int]

    def named(self, name: str) -> PlannedRoutine | None:
        return next((one for one in self.routines if one.routine.name == name), None)
