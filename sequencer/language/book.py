"""The book of names: what is declared where, and how a name used in one place is looked up.

Parts of a prop go by `prop.part`; inside the prop they are found by their short name first. A name whose line
could not be read counts as declared, so that one slip does not make every use of it a finding.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from sequencer.findings import Edit, Finding, Label, Mend, Span, closest
from sequencer.frozen import frozen
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.rig import KINDS
from sequencer.units import UNITS, Quantity

RESERVED = frozenset(
    "repeat pick if every otherwise then when while rest rank show use let night scare idle gesture never stop "
    "alarm arming at and or of with to over for".split()
)
ROUTINES = ("scare", "idle")
_CALLED = re.compile(r"There is no [\w ]+ called (`.*`)\.")
MOST_NAMES = 1_000
"""Of so many names no board takes the scares or has the pins; each unknown name would be held against all of them."""


@frozen
class Declared:
    """`kind`: a kind of part, `scare`, `idle`, `gesture`, or None where the line could not be read."""

    name: str
    kind: str | None
    prop: str | None
    span: Span
    node: tree.Node


@dataclass(slots=True)
class Book:
    """`names` by whole name; `lets` are named quantities.

    Without `offers` no near names are sought, which takes most of the time where many are unknown.
    """

    names: dict[str, Declared] = field(default_factory=dict)
    lets: dict[str, Quantity] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    offers: bool = True
    _short: dict[tuple[tuple[str, ...], str | None], tuple[str, ...]] = field(default_factory=dict)

    def apart(self) -> Book:
        """The same names with findings of its own, for a piece of the show that is read by itself."""
        return Book(self.names, self.lets, _short=self._short)

    def find(self, name: str, prop: str | None) -> Declared | None:
        """What a name means when it is used inside `prop` (None: at the top level)."""
        if prop is not None and (inside := self.names.get(f"{prop}.{name}")) is not None:
            return inside
        return self.names.get(name)

    def look_up(self, name: str, span: Span, kinds: Iterable[str], prop: str | None) -> str | None:
        """The whole name of a part of one of these kinds; None, with a finding, where there is none."""
        kinds = tuple(kinds)
        found = self.find(name, prop)
        if found is None:
            self._unknown(name, span, kinds, prop)
            return None
        if found.kind is not None and found.kind not in kinds:
            label = Label(found.span, f"declared here as {_a(found.kind)}")
            message = f"`{name}` is {_a(found.kind)}; here comes {_a(' or '.join(kinds))}."
            self.findings.append(rules.WRONG_KIND.at(span, message, labels=(label,), mends=self._near(
                name, span, kinds, prop, reach=99)))
            return None
        return found.name if found.kind is not None else None

    def _unknown(self, name: str, span: Span, kinds: tuple[str, ...], prop: str | None) -> None:
        mends = self._near(name, span, kinds, prop, reach=1 if len(kinds) == 1 else 0)
        what = " or ".join(kinds) if len(kinds) <= 3 else "part"
        self.findings.append(rules.UNKNOWN_NAME.at(span, f"There is no {what} called `{name}`.", mends=mends))

    def _near(
        self, name: str, span: Span, kinds: tuple[str, ...], prop: str | None, reach: int = 0
    ) -> tuple[Mend, ...]:
        """Did-you-mean: names of the right kind that are near; `reach`: any name where there are so few."""
        if not self.offers or len(self.names) > MOST_NAMES:
            return ()
        short = self._short.get((kinds, prop))
        if short is None:
            short = tuple(dict.fromkeys(self.short(d.name, prop) for d in self.names.values() if d.kind in kinds))
            self._short[kinds, prop] = short
        near = closest(name, short, 2)
        if not near and "." not in name:
            near = tuple(word for word in short if word.rpartition(".")[2] == name)[:2]
        if not near and 0 < len(short) <= min(reach, 2):
            near = tuple(short)
        # Never safe: the wrong one of two names moves the wrong prop.
        return tuple(Mend(f"write `{word}`", (Edit(span, word),)) for word in near)

    def short(self, name: str, prop: str | None) -> str:
        """How a part is called inside a prop."""
        return name.removeprefix(f"{prop}.") if prop is not None else name


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def write_book(nodes: Iterable[tree.Node]) -> Book:
    """Every declaration of the show: parts, scares, idles, gestures and named quantities."""
    book = Book()
    for node in nodes:
        _declare(book, node, None)
    return book


def _declare(book: Book, node: tree.Node, prop: str | None) -> None:
    head = node.head
    match head:
        case tree.PartHead():
            kind = head.kind.text if head.kind.text in KINDS else _kind_meant(head.kind.text)
            name = _enter(book, head.name, kind, prop, node)
            if kind == "prop" and prop is None:
                for child in node.block:
                    _declare(book, child, name)
        case tree.ScareHead():
            _enter(book, head.name, "idle" if head.idle else "scare", prop, node)
        case tree.GestureHead():
            _enter(book, head.name, "gesture", prop, node)
            _check_parameters(book, head)
        case tree.Let() if prop is None:
            _check_name(book, head.name, RESERVED | frozenset(UNITS))
        case tree.Properties() if prop is not None:
            _declare_without_colon(book, node, head, prop)
        case tree.Broken() if head.name is not None:
            _enter(book, head.name, None, prop, node)
            if prop is None:
                for child in node.block:
                    _declare(book, child, head.name.text)


def _declare_without_colon(book: Book, node: tree.Node, head: tree.Properties, prop: str) -> None:
    """`lamp eyes on box pwm1` in a prop, whose missing colon is told elsewhere, declares its name all the same."""
    for phrase in head.phrases:
        words = phrase.atoms
        if len(words) > 1 and words[0].text in KINDS and words[1].text.isidentifier():
            whole = f"{prop}.{words[1].text}"
            book.names.setdefault(whole, Declared(whole, None, prop, words[1].span, node))


def _check_parameters(book: Book, head: tree.GestureHead) -> None:
    """Each name of a gesture stands for one thing."""
    said: dict[str, tree.Name] = {}
    for name in (*head.parts, *head.numbers):
        before = said.setdefault(name.text, name)
        if before is not name:
            label = Label(before.span, "named here first")
            message = f"`{name.text}` is named twice in this gesture."
            book.findings.append(rules.TWICE.at(name.span, message, labels=(label,)))


def _kind_meant(word: str) -> str | None:
    near = closest(word, KINDS)
    return near[0] if near else None


def _enter(book: Book, name: tree.Name, kind: str | None, prop: str | None, node: tree.Node) -> str:
    whole = f"{prop}.{name.text}" if prop is not None else name.text
    _check_name(book, name)
    before = book.names.get(whole)
    if before is not None and (kind is not None or isinstance(node.head, tree.PartHead)):
        label = Label(before.span, "declared here first")
        book.findings.append(rules.TWICE.at(name.span, f"`{whole}` is declared twice.", labels=(label,)))
    elif before is None:
        book.names[whole] = Declared(whole, kind, prop, name.span, node)
    return whole


def _check_name(book: Book, name: tree.Name, reserved: frozenset[str] = RESERVED) -> None:
    """A named quantity stands where units stand, so it cannot be called like one."""
    if name.text in reserved:
        what = "a unit" if name.text in UNITS else "a word of the language"
        mend = Mend(f"call it `{name.text}_1`", (Edit(name.span, f"{name.text}_1"),))
        book.findings.append(rules.RESERVED.at(name.span, f"`{name.text}` is {what} and cannot be a name.",
                                               mends=(mend,)))
    elif "." in name.text:
        message = f"`{name.text}` is declared with a dot; a dot only joins a prop and its part where they are used."
        book.findings.append(rules.RESERVED.at(name.span, message))


def once_a_name(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each unknown name is reported where it is used first; the other uses would only repeat it."""
    seen: set[str] = set()
    kept: list[Finding] = []
    for finding in findings:
        if finding.code == rules.UNKNOWN_NAME.code:
            called = _CALLED.fullmatch(finding.message)
            told = called[1] if called is not None else finding.message
            if told in seen:
                continue
            seen.add(told)
        kept.append(finding)
    return tuple(kept)
