"""The syntax tree: one head a line, lines hung under the line that opens their block.

Heads say what was written, with places; nothing is looked up yet. A line that could not be read has the head
`Broken` and keeps its block, so that its neighbours and its children are still understood.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sequencer.findings import Span
from sequencer.phrases import Atom


@dataclass(frozen=True, slots=True)
class Name:
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Phrase:
    atoms: tuple[Atom, ...]

    @property
    def span(self) -> Span:
        return self.atoms[0].span.to(self.atoms[-1].span)


@dataclass(frozen=True, slots=True)
class Edge:
    """A sensor that trips or clears."""

    sensor: Name
    trips: bool


# Lines of a file and of the rig


@dataclass(frozen=True, slots=True)
class ShowTitle:
    title: str
    span: Span


@dataclass(frozen=True, slots=True)
class Use:
    path: str
    span: Span


@dataclass(frozen=True, slots=True)
class Let:
    name: Name
    amount: Phrase


@dataclass(frozen=True, slots=True)
class PartHead:
    kind: Name
    name: Name
    label: str | None
    like: Name | None
    phrases: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Properties:
    phrases: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Night:
    phrases: tuple[Phrase, ...]


# Lines of scares


@dataclass(frozen=True, slots=True)
class ScareHead:
    name: Name
    label: str | None
    edges: tuple[Edge, ...] = ()
    every: tuple[Phrase, Phrase] | None = None
    idle: bool = False
    at_arming: bool = False


@dataclass(frozen=True, slots=True)
class GestureHead:
    name: Name
    parts: tuple[Name, ...]
    numbers: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class WhileRunning:
    policy: str
    span: Span


@dataclass(frozen=True, slots=True)
class WhileTripped:
    sensor: Name


@dataclass(frozen=True, slots=True)
class Rest:
    amount: Phrase


@dataclass(frozen=True, slots=True)
class Rank:
    atom: Atom


@dataclass(frozen=True, slots=True)
class At:
    amount: Phrase


@dataclass(frozen=True, slots=True)
class After:
    """`+300 ms` or `+300 ms to 900 ms`; `then` waits for the line above first."""

    amounts: tuple[Phrase, ...]
    then: bool
    span: Span


@dataclass(frozen=True, slots=True)
class WhenSensor:
    edge: Edge
    bound: Phrase


When = At | After | WhenSensor


@dataclass(frozen=True, slots=True)
class Repeat:
    """`times` is a number or the name of one; exactly one of `times`, `for_`, `until` is given."""

    times: Atom | None = None
    for_: Phrase | None = None
    until: Edge | None = None
    bound: Phrase | None = None
    every: Phrase | None = None


@dataclass(frozen=True, slots=True)
class PickOne:
    pass


@dataclass(frozen=True, slots=True)
class IfSensor:
    sensor: Name
    tripped: bool


@dataclass(frozen=True, slots=True)
class NthRun:
    ordinal: Atom


Block = Repeat | PickOne | IfSensor | NthRun


@dataclass(frozen=True, slots=True)
class Cue:
    when: When
    when_span: Span
    block: Block | None
    actions: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Arm:
    weight: Atom
    of: Atom
    actions: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Otherwise:
    actions: tuple[Phrase, ...]


# What must never happen


@dataclass(frozen=True, slots=True)
class Safe:
    """`stop` or `alarm`: what the outputs go to, and on which sensors."""

    word: str
    edges: tuple[Edge, ...]
    actions: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class NeverWhile:
    one: Phrase
    other: Phrase


@dataclass(frozen=True, slots=True)
class NeverSooner:
    gap: Phrase
    first: Phrase
    second: Phrase


@dataclass(frozen=True, slots=True)
class AtMost:
    count: Atom
    parts: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that could not be read. `kind` is the kind of line it was read as, `name` what it seems to declare."""

    kind: str
    name: Name | None = None


Head = (
    ShowTitle | Use | Let | PartHead | Properties | Night | ScareHead | GestureHead | WhileRunning | WhileTripped
    | Rest | Rank | Cue | Arm | Otherwise | Safe | NeverWhile | NeverSooner | AtMost | Broken
)


@dataclass(slots=True)
class Node:
    """One line with the lines below it. `repaired`: read as if its first mend had been applied.

    `text` is the line as written; with its place it says everything that `head` came from.
    """

    head: Head
    span: Span
    repaired: bool = False
    block: list[Node] = field(default_factory=list)
    text: str = ""

    def key(self) -> tuple[object, ...]:
        """Equal for nodes that were read from the same text at the same place, blocks included."""
        return (self.span, self.text, *(child.key() for child in self.block))
