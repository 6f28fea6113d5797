"""A gesture used -> its lines with the parts and numbers of the use written in.

A line written in keeps its place in the gesture. Where a word of the use stands in it, `Stand` says so, and a fault
that is found at such a place is the fault of the use: `at_use` takes it there.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from sequencer.findings import Edit, Finding, Label, Mend, Span
from sequencer.frozen import frozen
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.phrases import Atom, AtomKind

DEEPEST = 6
MOST_LINES = 4_000
MOST_LINES_OF_A_SHOW = 40_000
"""Lines that gestures may write into one scare, and into all: bounds of this tool, more than any board holds."""


_WRONG_AS_WRITTEN = re.compile(r"^Nothing comes after .* but here stands|^What `[^`]*` is to do is missing")
_GIVEN = re.compile(r"(?<=here stands )`[^`]*`|(?<=What )`[^`]*`")


@frozen
class Stand:
    """What stands at one place of a gesture's text: the name it has there, and where the use says what it is.

    `whole` is false where the use gives only the head of a dotted name, so that no edit can be taken over.
    """

    name: str
    given: Span
    whole: bool = True


@frozen
class Written:
    """The lines of a gesture for one use, and the places in them that the use filled."""

    nodes: tuple[tree.Node, ...]
    stands: Mapping[Span, Stand]


@dataclass(slots=True)
class Room:
    """How many lines may still be written in; gestures in gestures would multiply without end."""

    left: int = MOST_LINES
    said: bool = False


def is_use(phrase: tree.Phrase) -> bool:
    """`rattle of lever with 4` is a gesture; no part has a verb that starts with `of`."""
    return len(phrase.atoms) > 1 and phrase.atoms[1].text == "of" and phrase.atoms[1].kind is AtomKind.WORD


def write_in(
    head: tree.GestureHead, block: list[tree.Node], use: tree.Phrase, findings: list[Finding]
) -> Written | None:
    """The lines of the gesture for one use; None, with a finding, where the use does not fit."""
    parts, numbers = _arguments(use)
    for what, given, due in (("part", parts, head.parts), ("number", numbers, head.numbers)):
        if len(given) != len(due):
            names = " and ".join(f"`{name.text}`" for name in due)
            takes = f"{len(due)} {what}{'s' * (len(due) != 1)} ({names})" if due else f"no {what}s"
            message = f"`{head.name.text}` takes {takes}; here {'is' if len(given) == 1 else 'are'} {len(given)}."
            findings.append(rules.GESTURE.at(use.span, message))
            return None
    names = [name.text for name in (*head.parts, *head.numbers)]
    return filled(block, dict(zip(names, (*parts, *numbers), strict=True)))


def filled(block: Iterable[tree.Node], words: Mapping[str, tuple[Atom, ...]]) -> Written:
    """The lines with every name in `words` replaced by what it stands for."""
    writer = _Writer(words)
    return Written(tuple(writer.node(node) for node in block), writer.stands)


def lines_in(nodes: Iterable[tree.Node]) -> int:
    """How many lines there are, with those below them."""
    return sum(1 + lines_in(node.block) for node in nodes)


def at_use(findings: Iterable[Finding], stands: Mapping[Span, Stand], use: Label) -> Iterator[Finding]:
    """Findings in the lines of one use: those about what the use gave are taken there, the others show it."""
    for finding in findings:
        stand = stands.get(finding.span)
        if stand is not None and _WRONG_AS_WRITTEN.search(finding.message):
            # Whatever were given here, the line would not read.
            message = _GIVEN.sub(f"`{stand.name}`", finding.message, count=1)
            yield dataclasses.replace(finding, message=message, labels=(*finding.labels, use))
        elif stand is not None:
            label = Label(finding.span, f"`{stand.name}` stands here")
            mends = tuple(_moved(mend, finding.span, stand) for mend in finding.mends if stand.whole)
            yield dataclasses.replace(
                finding, span=stand.given, labels=(label, *finding.labels), mends=tuple(m for m in mends if m)
            )
        elif use.span in (finding.span, *(label.span for label in finding.labels)):
            yield finding
        else:
            yield dataclasses.replace(finding, labels=(*finding.labels, use))


def _moved(mend: Mend, here: Span, stand: Stand) -> Mend | None:
    """The same change made where the use says it; None for one that changes anything else."""
    ends = {(here.line, here.column): (stand.given.line, stand.given.column),
            (here.end_line, here.end_column): (stand.given.end_line, stand.given.end_column)}
    edits = []
    for edit in mend.edits:
        begin, end = (edit.span.line, edit.span.column), (edit.span.end_line, edit.span.end_column)
        if edit.span.file != here.file or begin not in ends or end not in ends:
            return None
        edits.append(Edit(Span(stand.given.file, *ends[begin], *ends[end]), edit.text))
    return Mend(mend.title, tuple(edits), mend.safe)


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


@dataclass(slots=True)
class _Writer:
    words: Mapping[str, tuple[Atom, ...]]
    stands: dict[Span, Stand] = field(default_factory=dict)

    def node(self, node: tree.Node) -> tree.Node:
        block = [self.node(child) for child in node.block]
        return tree.Node(self._replaced(node.head), node.span, node.repaired, block, node.text)

    def _replaced(self, value: Any) -> Any:
        """A piece of a head with every name replaced; the place stays that of the gesture's own text."""
        match value:
            case tree.Phrase(atoms):
                return tree.Phrase(tuple(new for atom in atoms for new in self._atoms(atom)))
            case Atom():
                return self._atoms(value)[0]
            case tree.Name(text, span):
                name, dot, rest = text.partition(".")
                if name not in self.words:
                    return value
                self._stands(span, name, not dot)
                return tree.Name(self.words[name][0].text + dot + rest, span)
            case tuple():
                return tuple(self._replaced(item) for item in value)
            case Span() | str() | int() | None:
                return value
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            changes = {f.name: self._replaced(getattr(value, f.name)) for f in dataclasses.fields(value)}
            return type(value)(**changes)
        return value

    def _atoms(self, atom: Atom) -> tuple[Atom, ...]:
        name, dot, rest = atom.text.partition(".")
        if atom.kind is not AtomKind.WORD or name not in self.words:
            return (atom,)
        self._stands(atom.span, name, not dot)
        if dot:
            return (Atom(AtomKind.WORD, f"{self.words[name][0].text}.{rest}", atom.span),)
        return tuple(dataclasses.replace(new, span=atom.span) for new in self.words[name])

    def _stands(self, span: Span, name: str, whole: bool) -> None:
        given = self.words[name]
        self.stands[span] = Stand(name, given[0].span.to(given[-1].span), whole)
