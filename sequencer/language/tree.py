"""The syntax tree: one head a line, lines hung under the line that opens their block.

Heads say what was written, with places; nothing is looked up yet. A line that could not be read has the head
`Broken` and keeps its block, so that its neighbours and its children are still understood.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.phrases import Atom


@frozen
class Name:
    text: str
    span: Span


@frozen
class Phrase:
    atoms: tuple[Atom, ...]

    @property
    def span(self) -> Span:
        return self.atoms[0].span.to(self.atoms[-1].span)


@frozen
class Edge:
    """A sensor that trips or clears."""

    sensor: Name
    trips: bool


# Lines of a file and of the rig


@frozen
class ShowTitle:
    title: str
    span: Span


@frozen
class Use:
    path: str
    span: Span


@frozen
class Let:
    name: Name
    amount: Phrase


@frozen
class PartHead:
    kind: Name
    name: Name
    label: str | None
    like: Name | None
    phrases: tuple[Phrase, ...]


@frozen
class Properties:
    phrases: tuple[Phrase, ...]


@frozen
class Night:
    phrases: tuple[Phrase, ...]


# Lines of scares


@frozen
class ScareHead:
    name: Name
    label: str | None
    edges: tuple[Edge, ...] = ()
    every: tuple[Phrase, Phrase] | None = None
    idle: bool = False
    at_arming: bool = False


@frozen
class GestureHead:
    name: Name
    parts: tuple[Name, ...]
    numbers: tuple[Name, ...]


@frozen
class WhileRunning:
    policy: str
    span: Span


@frozen
class WhileTripped:
    sensor: Name


@frozen
class Rest:
    amount: Phrase


@frozen
class Rank:
    atom: Atom


@frozen
class At:
    amount: Phrase


@frozen
class After:
    """`+300 ms` or `+300 ms to 900 ms`; `then` waits for the line above first."""

    amounts: tuple[Phrase, ...]
    then: bool
    span: Span


@frozen
class WhenSensor:
    edge: Edge
    bound: Phrase


When = At | After | WhenSensor


@frozen
class Repeat:
    """`times` is a number or the name of one; exactly one of `times`, `for_`, `until` is given."""

    times: Atom | None = None
    for_: Phrase | None = None
    until: Edge | None = None
    bound: Phrase | None = None
    every: Phrase | None = None


@frozen
class PickOne:
    pass


@frozen
class IfSensor:
    sensor: Name
    tripped: bool


@frozen
class NthRun:
    ordinal: Atom


Block = Repeat | PickOne | IfSensor | NthRun


@frozen
class Cue:
    when: When
    when_span: Span
    block: Block | None
    actions: tuple[Phrase, ...]


@frozen
class Arm:
    weight: Atom
    of: Atom
    actions: tuple[Phrase, ...]


@frozen
class Otherwise:
    actions: tuple[Phrase, ...]


# What must never happen


@frozen
class Safe:
    """`stop` or `alarm`: what the outputs go to, and on which sensors."""

    word: str
    edges: tuple[Edge, ...]
    actions: tuple[Phrase, ...]


@frozen
class NeverWhile:
    one: Phrase
    other: Phrase


@frozen
class NeverSooner:
    gap: Phrase
    first: Phrase
    second: Phrase


@frozen
class AtMost:
    count: Atom
    parts: tuple[Name, ...]


@frozen
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
