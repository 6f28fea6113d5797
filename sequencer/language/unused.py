"""Gestures that no scare uses -> what is wrong with their lines.

What a name of the gesture stands for is not known before it is used. So each is tried as a part of every kind and as
a count and every sort of quantity, until nothing is left to find; what the best try still finds holds for every use.
Times are not looked at: whether they can be kept hangs on the parts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache, partial
from itertools import islice, product
from typing import Any

from sequencer.findings import Edit, Finding, Mend, Span, closest
from sequencer.language import gestures, tree
from sequencer.language import name_rules as rules
from sequencer.language.book import ROUTINES, Book, Declared, write_book
from sequencer.language.cues import ALL_VERBS, ROUTINE_VERBS, CueReader
from sequencer.language.parts import PartBuilder
from sequencer.language.reader import read_document
from sequencer.memo import Memo, noted
from sequencer.phrases import Atom, AtomKind
from sequencer.rig import KINDS
from sequencer.show.model import Placed
from sequencer.units import read_quantity

_STAND_INS = '''show "One of each"
board __box like host
sensor __sensor like push_button: on __box in0
valve __valve like valve_5_2_quarter: on __box out0
cylinder __cylinder like cylinder_round_2_in: on __valve, stroke 4 in
lamp __lamp: on __box pwm0
motor __motor: on __box out1
pump __pump: on __box out2
fogger __fogger: on __box out3
speaker __speaker: on __box out4
scare __scare on __sensor trips:
    0 s: __lamp on
idle __idle:
    0 s: __lamp on
    1 s: __lamp off
'''
_KINDS = ("cylinder", "lamp", "valve", "speaker", "fogger", "pump", "motor", "sensor", "scare", "idle")
_SAID = ("2", "1 s", "50 %", "1 Hz")
"""A count and the quantities that actions take; what else a use could say, no action takes."""
_MOST_READ = 3_000
"""Lines read in trials of one gesture: some tenths of a second."""
MOST_UNUSED = 40
"""Unused gestures that are looked at in one show, for the same reason."""
_MOST_PROPS = 12


def unused_gestures(
    nodes: Iterable[tuple[tree.Node, str | None]], book: Book, memo: Memo
) -> Iterator[Declared]:
    """The gestures that no scare or idle reaches, but for those that another one of them uses.

    `nodes` are all lines of the show with the prop each stands in; `memo` keeps what each of them uses.
    """
    declared = [one for one in book.names.values() if one.kind == "gesture"]
    if not declared:
        return
    reached: set[str] = set()
    for node, prop in nodes:
        if isinstance(node.head, tree.ScareHead):
            _reach(node, prop, book, reached, memo)
    for one in declared:
        if one.name not in reached:
            reached.add(one.name)
            _reach(one.node, one.prop, book, reached, memo)
            yield one


def check_unused(gesture: Declared, book: Book, parts: Mapping[str, Placed]) -> tuple[Finding, ...]:
    """What is wrong with the lines of one gesture, whatever its names will stand for."""
    return tuple(_Trial(gesture.node, gesture.prop, book, parts).findings())


def _reach(node: tree.Node, prop: str | None, book: Book, reached: set[str], memo: Memo) -> None:
    """Adds every gesture that the lines below a node use, and what those use in turn: a chain of any length."""
    ahead = [node]
    while ahead:
        here = ahead.pop()
        for name in noted(memo.about(here), "uses", partial(_uses, here)):
            found = book.find(name, prop)
            if found is not None and found.kind == "gesture" and found.name not in reached:
                reached.add(found.name)
                ahead.append(found.node)


def _uses(node: tree.Node) -> tuple[str, ...]:
    """The names of what seem to be gestures."""
    return tuple(dict.fromkeys(phrase.atoms[0].text for phrase in _phrases(node) if gestures.is_use(phrase)))


def _phrases(node: tree.Node) -> Iterator[tree.Phrase]:
    for child in node.block:
        if isinstance(child.head, tree.Cue | tree.Arm | tree.Otherwise):
            yield from child.head.actions
        yield from _phrases(child)


@lru_cache(maxsize=1)
def _stand_ins() -> tuple[Mapping[str, Declared], Mapping[str, Placed]]:
    book = write_book(read_document(_STAND_INS.encode(), "stand-ins").nodes)
    return book.names, PartBuilder(book).build_all()


@lru_cache(maxsize=16)
def _verbs_of(kind: str) -> frozenset[str]:
    phrases = ROUTINE_VERBS if kind in ROUTINES else tuple(verb.phrase for verb in KINDS[kind].verbs)
    return frozenset(phrase.split()[0] for phrase in phrases)


class _Trial:
    """One gesture, read again and again with other words for its names."""

    def __init__(self, node: tree.Node, prop: str | None, book: Book, parts: Mapping[str, Placed]) -> None:
        assert isinstance(node.head, tree.GestureHead)
        self.node, self.head = node, node.head
        # Short names are looked up where a gesture is used: for one at the left edge that may be in any prop.
        props = [one.name for one in book.names.values() if one.kind == "prop"]
        self.scopes = (prop,) if prop is not None else (None, *props[:_MOST_PROPS])
        names, made = _stand_ins()
        self.names = {**names, **book.names}
        self.parts = {**made, **parts}
        self.lets = book.lets
        self.asked = [phrase.atoms[:2] for phrase in _phrases(node) if len(phrase.atoms) > 1]
        self.choices = {name.text: self._parts_for(name, book) for name in self.head.parts}
        self.choices |= {name.text: self._numbers_for(name.span) for name in self.head.numbers}
        self.verbs = {verb.span: verb.text for who, verb in self.asked if who.text in self.choices}

    def findings(self) -> list[Finding]:
        """What is found with the words that leave least to find.

        Where there are more ways than are tried, what hangs on the words is left out: another way may fit.
        """
        most = max(_MOST_READ // gestures.lines_in([self.node]), 1)
        ways = tuple(islice(product(self.scopes, *self.choices.values()), most + 1))
        best, least = ways[0], None
        for way in ways[:most]:
            found = len(self._read(way, offers=False))
            if not found:
                return []
            if least is None or found < least:
                best, least = way, found
        told = self._read(best, offers=True)
        return told if len(ways) <= most else [one for one in told if one.code != rules.GESTURE.code]

    def _read(self, way: tuple[Any, ...], offers: bool) -> list[Finding]:
        """The findings with one way of filling the gesture: a prop that it is used in, and words for its names."""
        scope, *words = way
        written = gestures.filled(self.node.block, dict(zip(self.choices, words, strict=True)))
        book = Book(self.names, self.lets, offers=offers)
        use = (self.head.name.text, self.head.name.span)
        reader = CueReader(book, self.parts, scope, uses=[use], stands=written.stands)
        reader.cues(written.nodes)
        return [self._worded(finding, written.stands) for finding in book.findings]

    def _worded(self, finding: Finding, stands: Mapping[Span, gestures.Stand]) -> Finding:
        """A fault that hangs on what a name stands for, said of everything that it could stand for."""
        verb = self.verbs.get(finding.span)
        if verb is not None and finding.code == rules.UNKNOWN_WORDS.code:
            mends = [Mend(f"write `{word}`", (Edit(finding.span, word),)) for word in closest(verb, ALL_VERBS, 2)]
            return rules.UNKNOWN_WORDS.at(finding.span, f"No part has an action `{verb}`.", mends=mends)
        stand = stands.get(finding.span)
        if stand is None:
            return finding
        message = f"Nothing that `{stand.name}` could stand for fits both here and in the other lines of this gesture."
        return rules.GESTURE.at(finding.span, message)

    def _parts_for(self, name: tree.Name, book: Book) -> list[tuple[Atom, ...]]:
        """A part of each kind that can do all that is asked of the name, of every kind where none can.

        Of speakers, which differ by their clips, every one; a made one where the show has none.
        """
        asked = {verb.text for who, verb in self.asked if who.text == name.text and verb.text in ALL_VERBS}
        names: list[str] = []
        for kind in [kind for kind in _KINDS if asked <= _verbs_of(kind)] or _KINDS:
            known = [one.name for one in book.names.values() if one.kind == kind and self._is_whole(one)]
            names += (known if kind == "speaker" else known[:1]) or [f"__{kind}"]
        return [(Atom(AtomKind.WORD, one, name.span),) for one in names]

    def _is_whole(self, one: Declared) -> bool:
        return one.kind in ROUTINES or one.name in self.parts

    def _numbers_for(self, span: Span) -> list[tuple[Atom, ...]]:
        words = []
        for text in _SAID:
            quantity = read_quantity(text) if " " in text else None
            kind = AtomKind.NUMBER if quantity is None else AtomKind.QUANTITY
            words.append((Atom(kind, text, span, Fraction(text) if quantity is None else quantity),))
        return words
