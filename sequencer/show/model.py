"""The values that a show is made of, once its text has been read and its names looked up.

Names of parts, scares and idles are whole (`window.ram`); times are whole microseconds; every value keeps its
place in the text, so that whatever a later stage finds can be shown there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.rig.base import Part
from sequencer.rig.drive import Drive


@frozen
class Placed:
    """A part, the place of its name, and the place of each property that was written."""

    part: Part
    span: Span
    where: Mapping[str, Span]

    def at(self, field_name: str) -> Span:
        """Where a property was written; the part's name where it was not."""
        return self.where.get(field_name, self.span)


@frozen
class SensorEdge:
    sensor: str
    trips: bool
    span: Span


# When a cue line is due


@frozen
class At:
    """Counted from the start of the block that the line stands in. `in_ms`: that is how the author wrote it."""

    us: int
    in_ms: bool = False


@frozen
class After:
    """After the time of the line above, or (`then`) after all that it started has ended.

    `least_us` and `most_us` differ where the board is to draw the wait anew at each run. `in_ms`: that is how the
    author wrote it.
    """

    least_us: int
    most_us: int
    then: bool
    in_ms: bool = False


@frozen
class WhenSensor:
    """When the sensor says so, and at the latest `bound_us` after the time of the line above."""

    edge: SensorEdge
    bound_us: int


When = At | After | WhenSensor


# What a cue line does


@frozen
class Action:
    """One part doing one thing. `verb` is the phrase as the part declares it, `drives` what that does.

    `uses` are the places where gestures were used, for an action that was written in one, the outermost first.
    """

    who: str
    verb: str
    drives: tuple[Drive, ...]
    span: Span
    uses: tuple[Span, ...] = ()

    @property
    def used_at(self) -> Span | None:
        """The place in a routine of its own from which this was written in; None for what stands there itself."""
        return self.uses[0] if self.uses else None


@frozen
class Repeat:
    """Exactly one of `times`, `for_us` and `until` is given; `bound_us` goes with `until`.

    `every_us` is the length of a round; without it the next round starts when the last line has been done.
    """

    body: tuple[Cue, ...]
    times: int | None = None
    for_us: int | None = None
    until: SensorEdge | None = None
    bound_us: int | None = None
    every_us: int | None = None


@frozen
class Arm:
    weight: int
    body: tuple[Cue, ...]
    span: Span


@frozen
class PickOne:
    """One arm is drawn by the board at each run, in proportion to its weight."""

    arms: tuple[Arm, ...]


@frozen
class IfSensor:
    sensor: str
    tripped: bool


@frozen
class NthRun:
    n: int


@frozen
class Branch:
    """`if mat tripped:` or `every 3rd run:`, with what `otherwise:` says."""

    test: IfSensor | NthRun
    yes: tuple[Cue, ...]
    no: tuple[Cue, ...]


Block = Repeat | PickOne | Branch


@frozen
class Cue:
    """One cue line: when, and either actions or a block."""

    when: When
    when_span: Span
    span: Span
    actions: tuple[Action, ...] = ()
    block: Block | None = None
    used_at: Span | None = None


@frozen
class Routine:
    """A scare or an idle. `blocked_while` is a sensor that must clear between two starts."""

    name: str
    label: str | None
    prop: str | None
    idle: bool
    span: Span
    starts: tuple[SensorEdge, ...] = ()
    every_us: tuple[int, int] | None = None
    at_arming: bool = False
    while_running: str = "ignore"
    blocked_while: str | None = None
    rest_us: int = 0
    rank: int = 8
    cues: tuple[Cue, ...] = ()

    @property
    def word(self) -> str:
        return "idle" if self.idle else "scare"

    @property
    def starts_by_itself(self) -> bool:
        """By a sensor, at arming, by the clock, or as an idle; not only by a line of another."""
        return self.idle or self.at_arming or bool(self.starts) or self.every_us is not None


# What must never happen


@frozen
class Safe:
    """`stop` or `alarm`: the sensors that ask for it and what the outputs go to."""

    word: str
    edges: tuple[SensorEdge, ...]
    actions: tuple[Action, ...]
    span: Span


@frozen
class EndOfMotion:
    """A part in a state (`ram out`, `eyes on`) or doing a thing (`door retracts`)."""

    who: str
    says: str
    span: Span


@frozen
class NeverWhile:
    one: EndOfMotion
    other: EndOfMotion
    span: Span


@frozen
class NeverSooner:
    gap_us: int
    first: EndOfMotion
    second: EndOfMotion
    span: Span


@frozen
class AtMost:
    count: int
    cylinders: tuple[str, ...]
    span: Span


@frozen
class Night:
    """How visitors come. Times of day in minutes after midnight, gaps in microseconds."""

    opens: int
    closes: int
    groups_per_hour: float
    group_size: tuple[int, int]
    passes: tuple[tuple[str, int, int], ...]
    span: Span


@frozen
class Show:
    """A whole show. `routines` are in the order of the text, which is the order of their numbers."""

    file: str
    title: str
    title_span: Span
    parts: Mapping[str, Placed]
    routines: tuple[Routine, ...] = ()
    safes: tuple[Safe, ...] = ()
    nevers: tuple[NeverWhile | NeverSooner, ...] = ()
    at_mosts: tuple[AtMost, ...] = ()
    night: Night | None = None
    texts: Mapping[str, str] = field(default_factory=dict)

    def of_kind(self, *kinds: str) -> tuple[Placed, ...]:
        """The parts of these kinds, in the order of the text."""
        return parts_of_kind(self.parts, *kinds)


def parts_of_kind(parts: Mapping[str, Placed], *kinds: str) -> tuple[Placed, ...]:
    """Those of these kinds, in the order of the text."""
    return tuple(placed for placed in parts.values() if placed.part.kind in kinds)
