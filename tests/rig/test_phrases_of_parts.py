"""Each phrase of each kind reads back what was written, into a field that the model has."""

from __future__ import annotations

import typing
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.findings import Span
from sequencer.language.reader import parse_line, read_document
from sequencer.phrases import Match, PinName, Ref, Slot, pieces_of, read_phrase
from sequencer.rig import KINDS, Part
from sequencer.rig.base import _Between
from sequencer.rig.said import said_by
from sequencer.units import UNITS, Quantity, units_of

PHRASES = [(kind, template) for kind, part in KINDS.items() for template in part.phrases]
VERBS = [(kind, verb.phrase) for kind, part in KINDS.items() for verb in part.verbs]
FIXED = {"pin": "box out3", "word": "growl", "text": '"growl.wav"', "count": "2"}


def range_of(part: type[Part], field: str) -> _Between | None:
    """The range that a field of the model is held to, however deep in its annotation."""
    waiting: list[Any] = [*part.model_fields[field].metadata, part.model_fields[field].annotation]
    while waiting:
        one = waiting.pop()
        if isinstance(one, _Between):
            return one
        waiting += [*typing.get_args(one), *getattr(one, "__metadata__", ())]
    return None


def in_words(slot: Slot, choice: int = 0) -> str:
    """Words that fill a slot, other than a quantity of a property."""
    if slot.kind in FIXED:
        return FIXED[slot.kind]
    if slot.kind[0] in "@#":
        return "other"
    if slot.choices:
        return slot.choices[choice % len(slot.choices)]
    return {"time": "250 ms", "share": f"{40 + 10 * (slot.field == 'high')} %", "frequency": "2 Hz"}[
        slot.kind
    ]


def read(part: type[Part], text: str) -> Match:
    (phrase,) = parse_line(text, "phrases_line").phrases
    match = read_phrase(phrase.atoms, part.phrases, {})
    assert isinstance(match, Match), f"{text}: {match}"
    return match


def sentence(
    part: type[Part], template: str, share: float, unit: int
) -> tuple[str, dict[str, tuple[float, float]]]:
    """A phrase with every quantity that far into its range, in some unit; and the SI values it says."""
    words, values = [], {}
    for piece in pieces_of(template):
        if isinstance(piece, str):
            words.append(piece)
            continue
        held = range_of(part, piece.field) if piece.field in part.model_fields else None
        if held is None:
            words.append(in_words(piece, unit))
            continue
        assert held.least.dimension == piece.kind, f"{part.kind}.{piece.field} is held to another dimension"
        symbols = units_of(piece.kind)
        symbol = UNITS[symbols[unit % len(symbols)]]
        si = held.least.si + share * (held.most.si - held.least.si)
        number = f"{(si - float(symbol.offset)) / float(symbol.factor):.9f}"
        words.append(f"{number} {symbol.symbol}")
        # Nine digits behind the point are written, so the reading may be half of the last one off.
        values[piece.field] = (si, 1e-9 * float(symbol.factor))
    return " ".join(words), values


@pytest.mark.parametrize(("kind", "template"), PHRASES)
@settings(max_examples=4, deadline=None)
@given(share=st.floats(0.01, 0.99), unit=st.integers(0, 5))
def test_a_property_written_in_any_unit_is_read_into_its_field(
    kind: str, template: str, share: float, unit: int
) -> None:
    part = KINDS[kind]
    text, due = sentence(part, template, share, unit)
    match = read(part, text)
    assert match.template == template, f"`{text}` was taken for `{match.template}`"
    for field, (si, slack) in due.items():
        got = match.values[field].value
        assert isinstance(got, Quantity)
        assert got.si == pytest.approx(si, rel=1e-9, abs=slack)


@pytest.mark.parametrize(("kind", "template"), PHRASES)
def test_a_phrase_fills_only_fields_the_model_has(kind: str, template: str) -> None:
    part = KINDS[kind]
    text, _ = sentence(part, template, 0.5, 0)
    values = {field: value.value for field, value in read(part, text).values.items()}
    said = said_by(part, template, values)
    assert said, "a phrase that says nothing"
    assert {one.field for one in said} <= set(part.model_fields)


@pytest.mark.parametrize(("kind", "template"), PHRASES)
def test_a_phrase_can_stand_on_a_line_of_its_own_and_in_the_head(kind: str, template: str) -> None:
    text, _ = sentence(KINDS[kind], template, 0.5, 0)
    for show in (f"{kind} thing:\n    {text}\n", f"{kind} thing {text}:\n"):
        document = read_document(show.encode(), "rig.show")
        assert not document.findings, document.findings


@pytest.mark.parametrize(("kind", "template"), PHRASES)
def test_no_phrase_can_be_taken_for_another_of_its_kind(kind: str, template: str) -> None:
    text, _ = sentence(KINDS[kind], template, 0.5, 1)
    (phrase,) = parse_line(text, "phrases_line").phrases
    fitting = [one for one in KINDS[kind].phrases if isinstance(read_phrase(phrase.atoms, [one], {}), Match)]
    assert fitting == [template]


@pytest.mark.parametrize("kind", KINDS)
def test_every_property_of_a_kind_can_be_said(kind: str) -> None:
    part = KINDS[kind]
    sayable = {
        piece.field
        for template in part.phrases
        if template not in part.many
        for piece in pieces_of(template)
        if isinstance(piece, Slot)
    }
    sayable |= {field for fields in part.sets.values() for field in fields}
    sayable |= {many.field for many in part.many.values()}
    assert set(part.model_fields) - {"name", "label", "prop"} == sayable


@pytest.mark.parametrize("kind", KINDS)
def test_choices_in_phrases_are_the_choices_of_the_model(kind: str) -> None:
    part = KINDS[kind]
    for piece in (piece for template in part.phrases for piece in pieces_of(template)):
        if isinstance(piece, Slot) and piece.choices:
            assert set(piece.choices) == literal_words(part.model_fields[piece.field].annotation)


def literal_words(annotation: Any) -> set[str]:
    words: set[str] = set()
    for one in typing.get_args(annotation):
        words |= {one} if isinstance(one, str) else literal_words(one)
    return words


def test_kinds_named_in_references_exist() -> None:
    named = {
        kind
        for part in KINDS.values()
        for template in part.phrases
        for piece in pieces_of(template)
        if isinstance(piece, Slot) and piece.kind[0] == "@"
        for kind in piece.kinds
    }
    assert named <= set(KINDS)


@pytest.mark.parametrize(("kind", "phrase"), VERBS)
def test_each_verb_of_a_kind_is_told_from_the_others(kind: str, phrase: str) -> None:
    words = " ".join(piece if isinstance(piece, str) else in_words(piece) for piece in pieces_of(phrase))
    (read_back,) = parse_line(words, "phrases_line").phrases
    fitting = [
        verb.phrase
        for verb in KINDS[kind].verbs
        if isinstance(read_phrase(read_back.atoms, [verb.phrase], {}), Match)
    ]
    assert fitting == [phrase]


def test_a_reference_and_a_pin_come_as_the_author_named_them() -> None:
    match = read(KINDS["sensor"], "on box in4")
    assert match.values["pin"].value == PinName("box", "in4")
    match = read(KINDS["sensor"], "sees window.ram home")
    assert match.values["sees"].value == Ref("window.ram", ("cylinder",))
    assert isinstance(match.values["sees"].span, Span)
