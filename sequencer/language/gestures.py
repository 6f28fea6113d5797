"""A gesture used -> its lines with the parts and numbers of the use written in."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from sequencer.findings import Finding, Span
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.phrases import Atom, AtomKind

DEEPEST = 6


def is_use(phrase: tree.Phrase) -> bool:
    """`rattle of lever with 4` is a gesture; no part has a verb that starts with `of`."""
    return len(phrase.atoms) > 1 and phrase.atoms[1].text == "of" and phrase.atoms[1].kind is AtomKind.WORD


def write_in(
    head: tree.GestureHead, block: list[tree.Node], use: tree.Phrase, findings: list[Finding]
) -> list[tree.Node] | None:
    """The lines of the gesture for one use; None, with a finding, where the use does not fit."""
    parts, numbers = _arguments(use)
    for what, given, due in (("part", parts, head.parts), ("number", numbers, head.numbers)):
        if len(given) != len(due):
            names = " and ".join(f"`{name.text}`" for name in due) or "none"
            message = (f"`{head.name.text}` takes {len(due)} {what}{'s' * (len(due) != 1)} ({names}); "
                       f"here {'is' if len(given) == 1 else 'are'} {len(given)}.")
            findings.append(rules.GESTURE.at(use.span, message))
            return None
    names = [name.text for name in (*head.parts, *head.numbers)]
    filled: dict[str, tuple[Atom, ...]] = dict(zip(names, (*parts, *numbers), strict=True))
    return [_written(node, filled) for node in block]


def _arguments(use: tree.Phrase) -> tuple[list[tuple[Atom, ...]], list[tuple[Atom, ...]]]:
    """The parts after `of` and the values after `with`, each joined by `and`."""
    parts: list[tuple[Atom, ...]] = []
    numbers: list[tuple[Atom, ...]] = []
    into, held = parts, []
    for atom in (*use.atoms[2:], None):
        if atom is not None and atom.text not in ("and", "with"):
            held.append(atom)
            continue
        if held:
            into.append(tuple(held))
            held = []
        if atom is not None and atom.text == "with":
            into = numbers
    return parts, numbers


def _written(node: tree.Node, filled: Mapping[str, tuple[Atom, ...]]) -> tree.Node:
    block = [_written(child, filled) for child in node.block]
    return tree.Node(_replaced(node.head, filled), node.span, node.repaired, block, node.text)


def _replaced(value: Any, filled: Mapping[str, tuple[Atom, ...]]) -> Any:
    """A piece of a head with every parameter replaced; the place stays that of the gesture's own text."""
    match value:
        case tree.Phrase(atoms):
            return tree.Phrase(tuple(new for atom in atoms for new in _atoms(atom, filled)))
        case Atom():
            return _atoms(value, filled)[0]
        case tree.Name(text, span):
            name, dot, rest = text.partition(".")
            return tree.Name(filled[name][0].text + dot + rest, span) if name in filled else value
        case tuple():
            return tuple(_replaced(item, filled) for item in value)
        case Span() | str() | int() | None:
            return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        changes = {f.name: _replaced(getattr(value, f.name), filled) for f in dataclasses.fields(value)}
        return type(value)(**changes)
    return value


def _atoms(atom: Atom, filled: Mapping[str, tuple[Atom, ...]]) -> tuple[Atom, ...]:
    if atom.kind is not AtomKind.WORD:
        return (atom,)
    name, dot, rest = atom.text.partition(".")
    if name not in filled:
        return (atom,)
    if dot:
        return (Atom(AtomKind.WORD, f"{filled[name][0].text}.{rest}", atom.span),)
    return tuple(dataclasses.replace(new, span=atom.span) for new in filled[name])
