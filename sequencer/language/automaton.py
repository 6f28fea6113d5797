"""Reads a line by the tables that lark made of the grammar, without lark: for lines in which nothing is wrong.

Lark's own parser says what is wrong with a line, and takes 90 ms to load and three times as long a line (measured);
a valid show needs none of it. Same tables, same tokens, same heads: the tests hold both against each other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from operator import itemgetter

from sequencer.frozen import frozen

END = "$END"
"""What lark calls the end of a text."""

PUT_IN, ALONE = "", "?"
"""Instead of a method: the children stand in the place of what they make up; or there is one, and it is that."""

TYPE_CHECKING = False  # as in `typing`, which is not needed to run
if TYPE_CHECKING:
    from typing import Any


@frozen
class Scanner:
    """What a token may be at a place: one of the patterns, each a group of its name, or one of the literal texts.

    `words`: of the patterns that also take words of the grammar, which text is which word.
    """

    pattern: str
    literals: tuple[tuple[str, str], ...]
    words: Mapping[str, Mapping[str, str]]


@frozen
class Rule:
    """`size` children become one of kind `origin`, made by the builder's `method` or as `PUT_IN` and `ALONE` say.

    `takes`: which children are given on, each with whether its own stand in its place; None where all are, as they
    are.
    """

    origin: str
    size: int
    method: str
    takes: tuple[tuple[int, bool], ...] | None


@frozen
class Tables:
    """`actions` by state and kind: a state to go to, or `~n` for the end of rule n. `blank`: what is passed over."""

    starts: Mapping[str, tuple[int, int]]
    actions: tuple[Mapping[str, int], ...]
    scanner_of: tuple[int, ...]
    scanners: tuple[Scanner, ...]
    rules: tuple[Rule, ...]
    blank: str


class Token(str):
    """A token as builders see it: the part of lark's that they use."""

    __slots__ = ("end_pos", "start_pos", "type")

    type: str
    start_pos: int
    end_pos: int


def _token(kind: str, text: str, start: int, end: int) -> Token:
    token = Token(text)
    token.type, token.start_pos, token.end_pos = kind, start, end
    return token


class Automaton:
    """Follows the tables; what rules become is made by the methods of `builder`."""

    def __init__(self, tables: Tables, builder: object) -> None:
        self._tables = tables
        self._blank = re.compile(f"(?:{tables.blank})*").match
        others = {PUT_IN: None, ALONE: itemgetter(0)}
        self._scanners = tuple(tables.scanners[index] for index in tables.scanner_of)
        self._ends = tuple(
            (rule.size, rule.origin, others[rule.method] if rule.method in others else getattr(builder, rule.method),
             rule.takes) for rule in tables.rules)
        # A pattern is compiled when it is met first: of ten that take 2 ms each a show meets three.
        self._matches: dict[str, Callable[[str, int], re.Match[str] | None]] = {}

    def read(self, text: str, start: str) -> Any:
        """What the line is to the builder; None where it cannot be read."""
        return self._read(text, start, [])

    def tokens(self, text: str, start: str) -> list[Token]:
        """The tokens of a line that can be read. The builder is asked as by `read`."""
        tokens: list[Token] = []
        self._read(text, start, tokens)
        return tokens

    def _read(self, text: str, start: str, tokens: list[Token]) -> Any:
        actions, scanners = self._tables.actions, self._scanners
        state, end_state = self._tables.starts[start]
        states, values = [state], []
        at, size = 0, len(text)
        while True:
            at = self._blank(text, at).end()  # type: ignore[union-attr]
            if at == size:
                return values[-1] if self._reduced(END, states, values, end_state) else None
            token = self._token(scanners[states[-1]], text, at)
            if token is None:
                return None
            kind = token.type
            # Most tokens may stand where they are; others end rules first.
            goes = actions[states[-1]].get(kind, -1)
            if goes < 0:
                if not self._reduced(kind, states, values, -1):
                    return None
                goes = actions[states[-1]][kind]
            states.append(goes)
            values.append(token)
            tokens.append(token)
            at = token.end_pos

    def _token(self, scanner: Scanner, text: str, at: int) -> Token | None:
        if scanner.pattern:
            match = self._matches.get(scanner.pattern)
            if match is None:
                match = self._matches[scanner.pattern] = re.compile(scanner.pattern).match
            found = match(text, at)
            if found is not None:
                kind, value = found.lastgroup, found[0]
                if kind in scanner.words:
                    kind = scanner.words[kind].get(value, kind)
                return _token(kind, value, at, found.end())  # type: ignore[arg-type]
        for literal, kind in scanner.literals:
            if text.startswith(literal, at):
                return _token(kind, literal, at, at + len(literal))
        return None

    def _reduced(self, kind: str, states: list[int], values: list[Any], end_state: int) -> bool:
        """Ends every rule that ends before a token of this kind; false where no such token may stand here."""
        actions, ends = self._tables.actions, self._ends
        while True:
            action = actions[states[-1]].get(kind)
            if action is None:
                return False
            if action >= 0:
                return True
            size, origin, make, takes = ends[~action]
            children: list[Any] = []
            if size:
                children = values[-size:]
                del states[-size:], values[-size:]
            if takes is not None:
                children = _taken(children, takes)
            values.append(children if make is None else make(children))
            state = actions[states[-1]][origin]
            states.append(state)
            if state == end_state:
                return True


def _taken(children: list[Any], takes: tuple[tuple[int, bool], ...]) -> list[Any]:
    taken: list[Any] = []
    for index, put_in in takes:
        if not put_in:
            taken.append(children[index])
        elif taken:
            taken += children[index]
        else:
            taken = children[index]  # nobody else holds it: a long row is not copied with each of its items
    return taken
