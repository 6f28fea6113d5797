"""A parse of one line -> the head of a node, with places in the file.

Whoever parses, lark or the automaton, hands children to these methods bottom-up, each method named after its rule;
tokens carry offsets into the logical line, and the line turns those into places.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from sequencer.findings import Span
from sequencer.language import tree
from sequencer.language.lines import Line
from sequencer.phrases import Atom, AtomKind
from sequencer.units import UNITS, Quantity, quantity_of, read_number

if TYPE_CHECKING:
    from lark import Token as LarkToken

    from sequencer.language.automaton import Token as QuickToken

    Token = LarkToken | QuickToken

_CLOCK = re.compile(r"(\d+):(\d\d)\s*([ap]m)?")


class HeadBuilder:
    """One builder a reader; `line` is set before each parse."""

    line: Line

    def __init__(self) -> None:
        self.complaints: list[tuple[Span, str]] = []

    def _span(self, token: Token) -> Span:
        assert token.start_pos is not None and token.end_pos is not None
        return self.line.span(token.start_pos, token.end_pos)

    def _name(self, token: Token) -> tree.Name:
        return tree.Name(str(token), self._span(token))

    def _text(self, token: Token) -> str:
        return str(token)[1:-1]

    def _number(self, text: str, span: Span) -> Fraction:
        """A number; one that no one could mean (1/0, forty digits) is a complaint and read as 1."""
        try:
            return -read_number(text[1:]) if text.startswith("-") else read_number(text)
        except ValueError as why:
            self.complaints.append((span, str(why)))
            return Fraction(1)

    def _quantity(self, text: str, span: Span) -> Quantity:
        try:
            return quantity_of(text)
        except ValueError as why:
            self.complaints.append((span, str(why)))
            return Quantity(1.0, UNITS[text.lstrip("-./0123456789").lstrip()], text)

    def atom_of(self, token: Token) -> Atom:
        """A token -> the word or value it stands for."""
        span, text = self._span(token), str(token)
        if token.type == "WORD":  # most are
            return Atom(AtomKind.WORD, text, span)
        match token.type:
            case "QUANTITY":
                return Atom(AtomKind.QUANTITY, text, span, self._quantity(text, span))
            case "NUMBER":
                return Atom(AtomKind.NUMBER, text, span, self._number(text, span))
            case "ORDINAL":
                return Atom(AtomKind.NUMBER, text, span, self._number(text[:-2], span))
            case "STRING":
                return Atom(AtomKind.TEXT, text, span, text[1:-1])
            case "CLOCK":
                minutes = _minutes(text)
                if minutes is None:
                    self.complaints.append((span, f"{text} is no time of day"))
                return Atom(AtomKind.CLOCK, text, span, minutes or 0)
        return Atom(AtomKind.WORD, text, span)

    # Words and values

    def phrase(self, children: list[Token]) -> tree.Phrase:
        return tree.Phrase(tuple(self.atom_of(token) for token in children))

    amount = phrase
    fact = phrase

    def phrases(self, children: list[tree.Phrase]) -> tuple[tree.Phrase, ...]:
        return tuple(children)

    actions = phrases

    def names(self, children: list[Token]) -> tuple[tree.Name, ...]:
        return tuple(self._name(token) for token in children)

    def edge(self, children: list[Token]) -> tree.Edge:
        return tree.Edge(self._name(children[0]), children[1].type == "TRIPS")

    def edges(self, children: list[tree.Edge]) -> tuple[tree.Edge, ...]:
        return tuple(children)

    # Lines of a file and of the rig

    def show_line(self, children: list[Token]) -> tree.ShowTitle:
        return tree.ShowTitle(self._text(children[0]), self._span(children[0]))

    def use_line(self, children: list[Token]) -> tree.Use:
        return tree.Use(self._text(children[0]), self._span(children[0]))

    def let_line(self, children: list[Any]) -> tree.Let:
        return tree.Let(self._name(children[0]), children[1])

    def night_line(self, children: list[Any]) -> tree.Night:
        return tree.Night(children[0] if children else ())

    def part_line(self, children: list[Any]) -> tree.PartHead:
        kind, name, *rest = children
        label = like = None
        phrases: tuple[tree.Phrase, ...] = ()
        for child in rest:
            if isinstance(child, tree.Phrase):
                phrases = (child, *phrases)
            elif isinstance(child, tuple):
                phrases += child
            elif child.type == "STRING":
                label = self._text(child)
            else:
                like = self._name(child)
        return tree.PartHead(self._name(kind), self._name(name), label, like, phrases)

    def phrases_line(self, children: list[Any]) -> tree.Properties:
        return tree.Properties(children[0])

    # Lines that open and set up a scare

    def on_edges(self, children: list[Any]) -> tuple[tree.Edge, ...]:
        return children[0]

    def on_arming(self, children: list[Any]) -> str:
        return "arming"

    def by_timer(self, children: list[Any]) -> list[tree.Phrase]:
        return children

    def scare_line(self, children: list[Any]) -> tree.ScareHead:
        name, *rest = children
        label = self._text(rest.pop(0)) if rest and getattr(rest[0], "type", None) == "STRING" else None
        start = rest[0] if rest else ()
        if start == "arming":
            return tree.ScareHead(self._name(name), label, at_arming=True)
        if isinstance(start, list):
            return tree.ScareHead(self._name(name), label, every=(start[0], start[1]))
        return tree.ScareHead(self._name(name), label, edges=start)

    def idle_line(self, children: list[Any]) -> tree.ScareHead:
        label = self._text(children[1]) if len(children) > 1 else None
        return tree.ScareHead(self._name(children[0]), label, idle=True)

    def gesture_line(self, children: list[Any]) -> tree.GestureHead:
        return tree.GestureHead(self._name(children[0]), children[1], children[2] if len(children) > 2 else ())

    def while_running(self, children: list[Token]) -> tree.WhileRunning:
        word = children[0]
        return tree.WhileRunning("once more" if word.type == "ONCE" else str(word), self._span(word))

    def while_tripped(self, children: list[Token]) -> tree.WhileTripped:
        return tree.WhileTripped(self._name(children[0]))

    def rest(self, children: list[tree.Phrase]) -> tree.Rest:
        return tree.Rest(children[0])

    def rank(self, children: list[Token]) -> tree.Rank:
        return tree.Rank(self.atom_of(children[0]))

    def policy_line(self, children: list[Any]) -> Any:
        return children[0]

    # Cue lines

    def at(self, children: list[tree.Phrase]) -> tree.At:
        return tree.At(children[0])

    def after(self, children: list[tree.Phrase]) -> tree.After:
        return tree.After(tuple(children), False, self.line.whole)

    def then(self, children: list[tree.Phrase]) -> tree.After:
        return tree.After(tuple(children), True, self.line.whole)

    def when_sensor(self, children: list[Any]) -> tree.WhenSensor:
        return tree.WhenSensor(children[0], children[1])

    def when(self, children: list[Any]) -> tree.When:
        return children[0]

    def repeat_times(self, children: list[Any]) -> tree.Repeat:
        return tree.Repeat(times=self.atom_of(children[0]), every=children[1] if len(children) > 1 else None)

    def repeat_for(self, children: list[Any]) -> tree.Repeat:
        return tree.Repeat(for_=children[0], every=children[1] if len(children) > 1 else None)

    def repeat_until(self, children: list[Any]) -> tree.Repeat:
        return tree.Repeat(until=children[0], bound=children[1], every=children[2] if len(children) > 2 else None)

    def pick_one(self, children: list[Any]) -> tree.PickOne:
        return tree.PickOne()

    def if_sensor(self, children: list[Token]) -> tree.IfSensor:
        return tree.IfSensor(self._name(children[0]), children[1].type == "TRIPPED")

    def nth_run(self, children: list[Token]) -> tree.NthRun:
        return tree.NthRun(self.atom_of(children[0]))

    def cue_line(self, children: list[Any]) -> tree.Cue:
        when, *rest = children
        block = rest[0] if rest and not isinstance(rest[0], tuple) else None
        actions = rest[0] if rest and isinstance(rest[0], tuple) else ()
        return tree.Cue(when, self._when_span(), block, actions)

    def _when_span(self) -> Span:
        text = self.line.text
        return self.line.span(0, max(len(text[: text.find(":")].rstrip()), 1))

    def arm_line(self, children: list[Any]) -> tree.Arm:
        actions = children[2] if len(children) > 2 else ()
        return tree.Arm(self.atom_of(children[0]), self.atom_of(children[1]), actions)

    def otherwise_line(self, children: list[Any]) -> tree.Otherwise:
        return tree.Otherwise(children[0] if children else ())

    # What must never happen

    def stop_line(self, children: list[Any]) -> tree.Safe:
        word, *rest = children
        edges: tuple[tree.Edge, ...] = ()
        actions: tuple[tree.Phrase, ...] = ()
        for child in rest:
            if child and isinstance(child[0], tree.Edge):
                edges = child
            else:
                actions = child
        return tree.Safe(str(word), edges, actions)

    def never_while(self, children: list[Any]) -> tree.NeverWhile:
        return tree.NeverWhile(children[0], children[1])

    def never_sooner(self, children: list[Any]) -> tree.NeverSooner:
        return tree.NeverSooner(children[0], children[1], children[2])

    def at_most_line(self, children: list[Token]) -> tree.AtMost:
        count, *names = children
        return tree.AtMost(self.atom_of(count), tuple(self._name(token) for token in names))


def _minutes(text: str) -> int | None:
    match = _CLOCK.fullmatch(text)
    assert match is not None
    hour, minute, half = int(match[1]), int(match[2]), match[3]
    if minute > 59 or hour > (12 if half else 23) or (half and hour == 0):
        return None
    return (hour % 12 + (12 if half == "pm" else 0) if half else hour) * 60 + minute


def broken(line: Line, start: str) -> tree.Broken:
    """A line that stays unread; the name it seems to declare counts as declared."""
    words = line.text.replace(":", " ").split()
    declares = start in ("part_line", "scare_line", "idle_line", "let_line", "gesture_line")
    if declares and len(words) > 1 and words[1].isidentifier():
        begin = line.text.find(words[1], len(words[0]))
        return tree.Broken(start, tree.Name(words[1], line.span(begin, begin + len(words[1]))))
    return tree.Broken(start)
