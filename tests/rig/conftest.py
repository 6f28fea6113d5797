"""Parts built the way an author writes them: text -> atoms by the grammar -> phrases -> fields -> model."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Protocol

import pytest

from sequencer.language.reader import parse_line
from sequencer.phrases import Match, Ref, read_phrase
from sequencer.rig import KINDS, Part
from sequencer.rig.said import said_by


class Make(Protocol):
    def __call__(self, kind: str, *lines: str, name: str = "it") -> Any: ...


class Read(Protocol):
    def __call__(self, kind: str, *lines: str) -> dict[str, Any]: ...


def plain(value: object) -> object:
    return value.name if isinstance(value, Ref) else value


def matches_of(templates: Iterable[str], line: str) -> list[Match]:
    """The match of each phrase of a line; fails where a phrase fits no template."""
    found = []
    for phrase in parse_line(line, "phrases_line").phrases:
        match = read_phrase(phrase.atoms, templates, {})
        assert isinstance(match, Match), f"`{line}` does not read: {match}"
        found.append(match)
    return found


def fields_of(kind: str, *lines: str) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    part = KINDS[kind]
    for match in (match for line in lines for match in matches_of(part.phrases, line)):
        for said in said_by(part, match.template, {f: plain(v.value) for f, v in match.values.items()}):
            if said.repeats:
                fields[said.field] = (*fields.get(said.field, ()), said.value)
            else:
                fields[said.field] = said.value
    return fields


@pytest.fixture
def read() -> Read:
    """The fields that lines of properties fill."""
    return fields_of


@pytest.fixture
def make() -> Make:
    """A part of a kind from its lines of properties."""

    def build(kind: str, *lines: str, name: str = "it") -> Part:
        return KINDS[kind](name=name, **fields_of(kind, *lines))

    return build


@pytest.fixture
def ask() -> Any:
    """What a cue's words ask of a part: the drives of the verb that fits."""

    def drives(part: Part, words: str) -> tuple[Any, ...]:
        (match,) = matches_of([verb.phrase for verb in part.verbs], words)
        verb = next(verb for verb in part.verbs if verb.phrase == match.template)
        return verb.drives(part, {field: plain(value.value) for field, value in match.values.items()})

    return drives
