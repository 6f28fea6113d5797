"""A part of the shelf -> the values that its phrases give to its kind, without the reader of the whole language.

The phrases of the shelf are of the simplest sort: words, and quantities with their unit. That they give the same here
as in a show is held by a test.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from sequencer.findings import Span
from sequencer.phrases import Atom, AtomKind, Match, read_phrase
from sequencer.rig import KINDS
from sequencer.rig.said import said_by
from sequencer.rig.shelf.shape import ShelfPart
from sequencer.units import UNITS, quantity_of, read_number

_NOWHERE = Span("shelf", 1, 1, 1, 1)


@lru_cache(maxsize=256)
def values_of(part: ShelfPart) -> Mapping[str, Any]:
    """The fields that the part fills, by name. Raises ValueError for a phrase that no template of its kind fits."""
    return MappingProxyType(values_said(part.kind, tuple(phrase for phrase, _ in part.says)))


def values_said(name: str, phrases: Sequence[str]) -> dict[str, Any]:
    """The fields of a kind of part that such phrases fill. Raises ValueError for one that no template of it fits."""
    kind = KINDS[name]
    values: dict[str, Any] = {}
    for phrase in phrases:
        found = read_phrase(tuple(_atoms(phrase)), kind.phrases, {})
        if not isinstance(found, Match):
            raise ValueError(f"a {name} does not say {phrase!r}")
        for said in said_by(kind, found.template, {name: value.value for name, value in found.values.items()}):
            values[said.field] = (*values.get(said.field, ()), said.value) if said.repeats else said.value
    return values


def _atoms(phrase: str) -> Iterator[Atom]:
    words = phrase.split()
    at = 0
    while at < len(words):
        word, after = words[at], words[at + 1] if at + 1 < len(words) else ""
        number = _number(word)
        if number is not None and after in UNITS:
            text = f"{word} {after}"
            yield Atom(AtomKind.QUANTITY, text, _NOWHERE, quantity_of(text))
            at += 2
            continue
        # `5/2` is the kind of a valve, not two and a half.
        plain = number is None or "/" in word
        yield Atom(AtomKind.WORD if plain else AtomKind.NUMBER, word, _NOWHERE, None if plain else number)
        at += 1


def _number(word: str) -> Fraction | None:
    try:
        return read_number(word.removeprefix("-"))
    except ValueError:
        return None
