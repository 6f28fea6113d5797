"""Declarations of the rig -> typed, checked parts.

A part's phrases are read against its kind's templates, what `like` gives is put under what is written, names are
looked up, and the kind's pydantic model has the last word. Everything wrong becomes a finding at its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from sequencer.findings import Edit, Finding, Label, Mend, Span, closest, edit_distance
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.language.book import Book, Declared
from sequencer.language.examples import written
from sequencer.language.reader import parse_line
from sequencer.language.rules import MISSING_COLON
from sequencer.language.wording import Speaking, word_mismatch
from sequencer.phrases import AtomKind, Mismatch, PinName, Ref, Slot, Value, pieces_of, read_phrase
from sequencer.rig import KINDS
from sequencer.rig.base import Part, item
from sequencer.rig.judged import faults_of
from sequencer.rig.said import Said, said_by
from sequencer.show.model import Placed

_PIN = re.compile(r"(?:pwm|out|in)\d+", re.ASCII)
_MOST_OF_A_RING = 8
"""So many names of a ring are written out."""


@dataclass(slots=True)
class _Draft:
    """A part while its phrases are gathered. `whole`: no phrase of it failed, so what is missing is missing.

    `repeated`: the values of properties that may be said again and again.
    """

    kind: type[Part]
    values: dict[str, Any] = field(default_factory=dict)
    repeated: dict[str, list[Any]] = field(default_factory=dict)
    where: dict[str, Span] = field(default_factory=dict)
    whole: bool = True

    def said(self) -> dict[str, Any]:
        return {**self.values, **{name: tuple(values) for name, values in self.repeated.items()}}


class PartBuilder:
    """Builds each declared part once, in whatever order `like` asks for them."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.placed: dict[str, Placed] = {}
        self._drafts: dict[str, _Draft] = {}
        self._open: dict[str, int] = {}

    def build_all(self) -> dict[str, Placed]:
        """Every part that could be built, in the order of the text."""
        for declared in self.book.names.values():
            if isinstance(declared.node.head, tree.PartHead):
                self._draft(declared)
        for declared in self.book.names.values():
            if declared.name in self._drafts:
                self._finish(declared, self._drafts[declared.name])
        return self.placed

    def _draft(self, declared: Declared) -> None:
        """The properties of one part, and before it of all that it is like: a chain of any length, or a ring."""
        chain: list[Declared] = []
        at: Declared | None = declared
        while at is not None and at.name not in self._drafts and at.name not in self._open:
            chain.append(at)
            self._open[at.name] = len(self._open)
            at = self._model_of(at)
        for one in reversed(chain):
            self._draft_alone(one)
            del self._open[one.name]

    def _model_of(self, declared: Declared) -> Declared | None:
        """The part of the show that this one is like."""
        head = declared.node.head
        if not isinstance(head, tree.PartHead) or head.like is None or declared.kind not in KINDS:
            return None
        other = self.book.find(head.like.text, declared.prop)
        same_kind = other is not None and other.kind == declared.kind and other.name != declared.name
        return other if same_kind else None

    def _draft_alone(self, declared: Declared) -> None:
        head = declared.node.head
        assert isinstance(head, tree.PartHead)
        if head.kind.text not in KINDS:
            self._unknown_kind(head)
        kind = KINDS.get(declared.kind or "")
        if kind is None:
            return
        draft = _Draft(kind, whole=not declared.node.repaired and head.kind.text in KINDS)
        if head.like is not None:
            self._take_from(draft, head.like, declared)
        for phrase in _phrases_of(declared, draft):
            self._read(draft, phrase, declared)
        self._drafts[declared.name] = draft

    def _unknown_kind(self, head: tree.PartHead) -> None:
        words = (*KINDS, "scare", "idle", "gesture", "night", "show")
        near = closest(head.kind.text, words, 2)
        safe = len(near) == 1 and edit_distance(head.kind.text, near[0], 1) == 1
        mends = [Mend(f"write `{word}`", (Edit(head.kind.span, word),), safe) for word in near]
        self.book.findings.append(
            rules.UNKNOWN_KIND.at(head.kind.span, f"There is no kind of part `{head.kind.text}`.", mends=mends))

    def _take_from(self, draft: _Draft, like: tree.Name, declared: Declared) -> None:
        other = self._model_of(declared)
        if other is not None:
            self._take_from_part(draft, like, other)
            return
        from sequencer.rig import shelf  # not needed by a show that takes nothing from it

        item = shelf.find(like.text)
        if item is None or item.kind != draft.kind.kind:
            self._not_on_shelf(draft, like, shelf.names(draft.kind.kind))
            draft.whole = False
            return
        draft.values.update(_shelf_values(draft.kind, tuple(phrase for phrase, _ in item.says)))

    def _take_from_part(self, draft: _Draft, like: tree.Name, other: Declared) -> None:
        if other.name in self._open:
            ring = _ring([*list(self._open)[self._open[other.name]:], other.name])
            self.book.findings.append(rules.NO_SHELF.at(like.span, f"A ring: {ring}."))
            draft.whole = False
            return
        base = self._drafts.get(other.name)
        if base is None or not base.whole:
            draft.whole = False
        if base is not None:
            own = _placings(draft.kind)
            draft.values.update({name: value for name, value in base.said().items() if name not in own})

    def _not_on_shelf(self, draft: _Draft, like: tree.Name, names: tuple[str, ...]) -> None:
        said = set(like.text.split("_"))
        near = closest(like.text, names, 3) or tuple(
            name for name in names if like.text in name or said <= set(name.split("_")))[:3]
        mends = [Mend(f"write `{word}`", (Edit(like.span, word),)) for word in near]
        message = f"There is no {draft.kind.kind} `{like.text}` on the shelf or in this show."
        self.book.findings.append(rules.NO_SHELF.at(like.span, message, mends=mends))

    def _read(self, draft: _Draft, phrase: tree.Phrase, declared: Declared) -> None:
        templates = draft.kind.phrases
        outcome = read_phrase(phrase.atoms, templates, self.book.lets)
        if isinstance(outcome, Mismatch):
            draft.whole = False
            of = Speaking(_with_article(draft.kind), "property")
            finding = _missing_colon(phrase) or _label_behind_colon(phrase, declared) or _no_board(
                phrase, declared, self.book) or word_mismatch(phrase.atoms, outcome, templates, self.book.lets, of)
            self.book.findings.append(finding)
            return
        values = {name: self._resolved(slot, outcome.values[name], declared)
                  for name, slot in _slots(outcome.template)}
        if None in values.values():
            draft.whole = False
            return
        for said in said_by(draft.kind, outcome.template, values):
            self._put(draft, said, phrase.span)

    def _put(self, draft: _Draft, said: Said, span: Span) -> None:
        if said.repeats:
            values = draft.repeated.setdefault(said.field, list(draft.values.get(said.field, ())))
            draft.where.setdefault(said.field, span)
            draft.where[item(said.field, len(values))] = span
            values.append(said.value)
            return
        before = draft.where.get(said.field)
        if before is not None:
            label = Label(before, "said here first")
            self.book.findings.append(rules.SAID_TWICE.at(span, "This property is said twice.", labels=(label,)))
            return
        draft.values[said.field] = said.value
        draft.where[said.field] = span

    def _resolved(self, slot: Slot, value: Value, declared: Declared) -> Any:
        """A name -> the whole name, board and pin -> the whole board name and pin; other values as they are."""
        match value.value:
            case Ref(name, kinds):
                return self.book.look_up(name, value.span, kinds, declared.prop)
            case PinName(board, pin):
                if self.book.find(board, declared.prop) is None and self._is_board(pin, declared.prop):
                    mend = Mend(f"write `{pin} {board}`", (Edit(value.span, f"{pin} {board}"),))
                    message = f"The board stands before its pin: `{pin} {board}`."
                    self.book.findings.append(rules.WRONG_WORDS.at(value.span, message, mends=(mend,)))
                    return None
                # The pin that stands behind it is no part of the name.
                name = replace(value.span, end_line=value.span.line, end_column=value.span.column + len(board))
                whole = self.book.look_up(board, name, ("board",), declared.prop)
                return PinName(whole, pin) if whole is not None else None
        return value.value

    def _is_board(self, name: str, prop: str | None) -> bool:
        found = self.book.find(name, prop)
        return found is not None and found.kind == "board"

    def _finish(self, declared: Declared, draft: _Draft) -> None:
        head = declared.node.head
        assert isinstance(head, tree.PartHead)
        if declared.prop is not None and not draft.kind.inside_prop:
            message = f"{_with_article(draft.kind)} stands by itself, not inside a prop."
            self.book.findings.append(rules.WRONG_KIND.at(head.kind.span, message[0].upper() + message[1:]))
        try:
            part = draft.kind(name=declared.name, label=head.label, prop=declared.prop, **draft.said())
        except ValueError as refused:
            for error in faults_of(refused):
                self._refused(declared, draft, error)
            return
        self.placed[declared.name] = Placed(part, declared.span, draft.where)

    def _refused(self, declared: Declared, draft: _Draft, error: Any) -> None:
        context = error.get("ctx", {})
        name = str(error["loc"][0]) if error["loc"] else str(context.get("field", ""))
        span = draft.where.get(name, declared.span)
        whose = f"`{declared.name}`"
        match error["type"]:
            case "missing":
                if draft.whole:
                    self.book.findings.append(_missing(declared, draft, name, self.book))
            case "range":
                message = f"{context['text']} is outside {context['range']}."
                self.book.findings.append(rules.OUT_OF_RANGE.at(span, message))
            case "contradiction":
                if draft.whole:
                    message = f"{whose}: {context['sentence']}."
                    self.book.findings.append(rules.CONTRADICTION.at(span, message))
            case _:
                self.book.findings.append(rules.CONTRADICTION.at(span, f"{whose}: {error['msg']}."))


def _phrases_of(declared: Declared, draft: _Draft) -> Iterator[tree.Phrase]:
    head = declared.node.head
    assert isinstance(head, tree.PartHead)
    yield from head.phrases
    for child in declared.node.block:
        if isinstance(child.head, tree.Properties) and not child.repaired:
            yield from child.head.phrases
        elif isinstance(child.head, tree.Broken) or child.repaired:
            draft.whole = False


def _slots(template: str) -> Iterator[tuple[str, Slot]]:
    for piece in pieces_of(template):
        if isinstance(piece, Slot):
            yield piece.field, piece


def _placings(kind: type[Part]) -> set[str]:
    """The fields that say where a part sits (pins, the part it is on): never the same for two parts."""
    slots = (slot for template in kind.phrases for _, slot in _slots(template))
    return {slot.field for slot in slots if slot.kind == "pin" or slot.kind.startswith("@")}


def _ring(names: list[str]) -> str:
    """A ring in words; of a long one the middle is only counted."""
    if len(names) > _MOST_OF_A_RING:
        left_out = len(names) - _MOST_OF_A_RING
        names = [*names[: _MOST_OF_A_RING - 2], f"({left_out:,} more)", *names[-2:]]
    return " is like ".join(names)


def _with_article(kind: type[Part]) -> str:
    return f"{kind.article} {kind.kind}"


def _missing_colon(phrase: tree.Phrase) -> Finding | None:
    """`lamp eyes on box pwm1` without its colon reads as a property of the part around it."""
    atoms = phrase.atoms
    if len(atoms) < 2 or atoms[0].text not in KINDS or not atoms[1].text.isidentifier():
        return None
    mend = Mend(f"put a colon after `{atoms[1].text}`", (Edit(atoms[1].span.after, ":"),))
    message = f"A colon is missing: {atoms[0].text} {atoms[1].text} is a part of its own."
    return MISSING_COLON.at(phrase.span, message, mends=(mend,))


def _label_behind_colon(phrase: tree.Phrase, declared: Declared) -> Finding | None:
    """`prop window: "The drowned signalman"`."""
    head = declared.node.head
    assert isinstance(head, tree.PartHead)
    text, *more = phrase.atoms
    if more or text.kind is not AtomKind.TEXT or head.label is not None or phrase not in head.phrases[:1]:
        return None
    like = f" like {head.like.text}" if head.like is not None else ""
    edit = Edit(head.name.span.after.to(phrase.span), f" {text.text}{like}:")
    message = f"A label stands behind the name and before the colon: `{head.kind.text} {head.name.text} {text.text}:`."
    return rules.WRONG_WORDS.at(phrase.span, message, mends=(Mend("write it before the colon", (edit,)),))


def _no_board(phrase: tree.Phrase, declared: Declared, book: Book) -> Finding | None:
    """`on out1`, where the show has one board."""
    *before, pin = phrase.atoms
    if not before or before[-1].text != "on" or not _PIN.fullmatch(pin.text):
        return None
    boards = [book.short(one.name, declared.prop) for one in book.names.values() if one.kind == "board"]
    if len(boards) != 1:
        return None
    mend = Mend(f"write `{boards[0]} {pin.text}`", (Edit(pin.span.start, f"{boards[0]} "),))
    message = f"A pin stands behind its board: `{boards[0]} {pin.text}`, not `{pin.text}` alone."
    return rules.WRONG_WORDS.at(pin.span, message, mends=(mend,))


def _missing(declared: Declared, draft: _Draft, name: str, book: Book) -> Finding:
    ways = [t for t in draft.kind.phrases if f"{{{name}:" in t]
    shown = name
    if ways:
        template = min(ways, key=len)
        shown = _named(template, declared, book) or written(template)
    if draft.kind.kind == "sensor":
        shown = shown.replace("out1", "in1")
    head = declared.node.head
    assert isinstance(head, tree.PartHead)
    whose = _with_article(draft.kind).capitalize()
    message = f"{whose} needs a property such as `{shown}`, and `{declared.name}` does not say it."
    return rules.MISSING.at(head.name.span, message)


def _named(template: str, declared: Declared, book: Book) -> str | None:
    """A template that takes the name of a part, with one that the show has."""
    slots = [slot for _, slot in _slots(template)]
    if len(slots) != 1 or (slots[0].kind[0] != "@" and slots[0].kind != "pin"):
        return None
    kinds = slots[0].kinds if slots[0].kind[0] == "@" else ("board",)
    fit = [one for one in book.names.values() if one.kind in kinds and one.name != declared.name]
    near = [one for one in fit if one.prop == declared.prop] or fit
    if not near:
        return None
    pin = " out1" if slots[0].kind == "pin" else ""
    return f"{template.split(' ', 1)[0]} {book.short(near[0].name, declared.prop)}{pin}"


def _shelf_values(kind: type[Part], phrases: tuple[str, ...]) -> Mapping[str, Any]:
    """The values of a part of the shelf; its phrases are of the language and were tested to fit."""
    values: dict[str, Any] = {}
    for text in phrases:
        head = parse_line(text, "phrases_line")
        assert isinstance(head, tree.Properties)
        for phrase in head.phrases:
            outcome = read_phrase(phrase.atoms, kind.phrases, {})
            assert not isinstance(outcome, Mismatch), text
            for said in said_by(kind, outcome.template, {k: v.value for k, v in outcome.values.items()}):
                values[said.field] = (*values.get(said.field, ()), said.value) if said.repeats else said.value
    return values
