"""Phrases: words and values read against templates such as `delivers {flow:flow} at {at:pressure}`.

Properties of parts and actions of cues are both phrases, so both are declared as templates beside the part
they belong to, and read here. What a mismatch means to the author is worded in `language/`.

A template is literal words and slots `{field:kind}`. Kinds: a dimension of `units` (`pressure`), `count` (a whole
number), `text` (a string), `word` (any name), `clock` (a time of day, in minutes), `pin` (board and pin),
`@lamp|pump` (the name of a part of these kinds), `#clip` (a name that the part itself declares), `out|home`
(one of these words; `a/b` numbers such as 5/2 count as words here).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import Enum
from fractions import Fraction
from functools import lru_cache

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.units import Quantity, times


class AtomKind(Enum):
    WORD = "a word"
    NUMBER = "a number"
    QUANTITY = "a quantity"
    TEXT = "a text in quotes"
    CLOCK = "a time of day"


@frozen
class Atom:
    """One word or value of a line. `value`: Fraction, Quantity, str or minutes since midnight, by `kind`."""

    kind: AtomKind
    text: str
    span: Span
    value: object = None


@frozen
class Ref:
    """A name used, not yet looked up; `kinds` are the kinds of part it may mean."""

    name: str
    kinds: tuple[str, ...]


@frozen
class PinName:
    """A pin of a board, both by the names the author used."""

    board: str
    pin: str


@frozen
class Value:
    value: object
    span: Span


@frozen
class Slot:
    field: str
    kind: str

    @property
    def choices(self) -> tuple[str, ...]:
        return tuple(self.kind.split("|")) if "|" in self.kind and self.kind[0] not in "@#" else ()

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of part a `@` slot may name."""
        return tuple(self.kind[1:].split("|"))


Piece = str | Slot


@frozen
class Match:
    template: str
    values: dict[str, Value]


@frozen
class Mismatch:
    """How far the best templates went: `wanted` is what may stand at `atoms[index]` (empty: the end)."""

    index: int
    wanted: tuple[Piece, ...]
    templates: tuple[str, ...]


@lru_cache(maxsize=1024)
def pieces_of(template: str) -> tuple[Piece, ...]:
    """The literal words and slots of a template, in order."""
    pieces: list[Piece] = []
    for word in template.split():
        if word.startswith("{"):
            field, _, kind = word[1:-1].partition(":")
            pieces.append(Slot(field, kind))
        else:
            pieces.append(word)
    return tuple(pieces)


def read_phrase(
    atoms: Sequence[Atom], templates: Iterable[str], lets: Mapping[str, Quantity]
) -> Match | Mismatch:
    """The one template that fits all atoms, or how far the nearest came."""
    best = -1
    wanted: list[Piece] = []
    reached: list[str] = []
    for template in templates:
        outcome = _try(atoms, template, lets)
        if isinstance(outcome, Match):
            return outcome
        index, piece = outcome
        if index > best:
            best, wanted, reached = index, [], []
        if index == best:
            reached.append(template)
            if piece is not None and piece not in wanted:
                wanted.append(piece)
    return Mismatch(max(best, 0), tuple(wanted), tuple(reached))


def _try(
    atoms: Sequence[Atom], template: str, lets: Mapping[str, Quantity]
) -> Match | tuple[int, Piece | None]:
    values: dict[str, Value] = {}
    index = 0
    for piece in pieces_of(template):
        if index >= len(atoms):
            return index, piece
        if isinstance(piece, str):
            if atoms[index].text != piece or atoms[index].kind is not AtomKind.WORD:
                return index, piece
            index += 1
            continue
        taken = _take(piece, atoms, index, lets)
        if taken is None:
            return index, piece
        values[piece.field], used = taken
        index += used
    if index < len(atoms):
        return index, None
    return Match(template, values)


def _take(
    slot: Slot, atoms: Sequence[Atom], index: int, lets: Mapping[str, Quantity]
) -> tuple[Value, int] | None:
    """The value that stands at `index`, if it is of the slot's kind, and how many atoms it takes."""
    atom = atoms[index]
    after = atoms[index + 1] if index + 1 < len(atoms) else None
    if slot.choices:
        return (Value(atom.text, atom.span), 1) if atom.text in slot.choices else None
    if slot.kind[0] in "@#" or slot.kind == "word":
        if atom.kind is not AtomKind.WORD:
            return None
        value = atom.text if slot.kind == "word" else Ref(atom.text, slot.kinds)
        return Value(value, atom.span), 1
    if slot.kind == "pin":
        if after is None or atom.kind is not AtomKind.WORD or after.kind is not AtomKind.WORD:
            return None
        return Value(PinName(atom.text, after.text), atom.span.to(after.span)), 2
    if slot.kind in ("text", "clock"):
        due = AtomKind.TEXT if slot.kind == "text" else AtomKind.CLOCK
        return (Value(atom.value, atom.span), 1) if atom.kind is due else None
    if slot.kind == "count":
        whole = isinstance(atom.value, Fraction) and atom.value.denominator == 1 and "/" not in atom.text
        return (Value(int(atom.value), atom.span), 1) if whole else None
    return _take_quantity(slot.kind, atom, after, lets)


def _take_quantity(
    dimension: str, atom: Atom, after: Atom | None, lets: Mapping[str, Quantity]
) -> tuple[Value, int] | None:
    """`462 ms`, a named quantity `beat`, or a multiple of one: `4 beat`."""
    if isinstance(atom.value, Quantity):
        found, used, span = atom.value, 1, atom.span
    elif atom.kind is AtomKind.WORD and atom.text in lets:
        found, used, span = lets[atom.text], 1, atom.span
    elif isinstance(atom.value, Fraction) and after is not None and after.text in lets:
        text = f"{atom.text} {after.text}"
        found, used, span = times(atom.value, lets[after.text], text), 2, atom.span.to(after.span)
    else:
        return None
    return (Value(found, span), used) if found.dimension == dimension else None
