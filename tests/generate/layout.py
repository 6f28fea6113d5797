"""Logical lines of a show -> text: a plain layout, and the oddest layouts that are still legal.

Used by tests and benches; what the lines say is made in `shows`.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sequencer.units import UNITS

BOM = "\ufeff"
_TOKEN = re.compile(r'"[^"]*"|\d{1,2}:\d\d\b|[,:+=]|[^\s",:+=]+')
_NUMBER = re.compile(r"-?\d[\d./-]*")
COMMENTS = (
    "#", "##", "# debounce", "#no space", "# say \"boo\"", "# an odd quote \" here", "# 5 min: then, rest", "#\ttab",
    "# die T\u00fcr klemmt \u2014 \u201c\u00f6len\u201d",
    "# a separator \u2028 inside", "# page\x0cfeed", "# trailing   ", "# # #",
    "# \u65e5\u672c \U0001f47b", "# next\x85line", "#:", "#,", "# 1 s: eyes on", "# e\u0301",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One logical line: how deep it stands, and its words and signs in order."""

    depth: int
    tokens: tuple[str, ...]


def row(depth: int, text: str) -> Row:
    return Row(depth, tuple(_TOKEN.findall(text)))


def plain(rows: Sequence[Row]) -> str:
    """One space between words, four a level."""
    return "".join(f"{'    ' * r.depth}{_join(r.tokens)}\n" for r in rows)


def _join(tokens: Sequence[str]) -> str:
    text = ""
    for index, token in enumerate(tokens):
        glued = index == 0 or token in (",", ":") or tokens[index - 1] == "+"
        text += token if glued else f" {token}"
    return text


def messy(rows: Sequence[Row], rng: random.Random) -> str:
    """The same lines with other indents, spacing, line ends, blank lines and comments wherever they may stand."""
    return _Mess(rng).text(rows)


class _Mess:
    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.tabs = rng.random() < 0.25
        self.end = rng.choice(("\n", "\n", "\r\n", "\r"))
        self.comments = rng.choice((0.0, 0.1, 0.4))
        self.loose = rng.choice((0.0, 0.3, 0.9))

    def text(self, rows: Sequence[Row]) -> str:
        lines = [line for r in self._indented(rows) for line in self._around(*r)]
        while self.rng.random() < self.comments:
            lines.append(self._own_comment())
        text = self.end.join(lines)
        if self.rng.random() < 0.8:
            text += self.end * self.rng.randint(1, 3)
        return (BOM if self.rng.random() < 0.2 else "") + text

    def _indented(self, rows: Sequence[Row]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Each block has an indent of its own choosing; a file has tabs or spaces throughout."""
        open_blocks = [""]
        for r in rows:
            del open_blocks[r.depth + 1 :]
            while len(open_blocks) <= r.depth:
                deeper = "\t" * self.rng.choice((1, 1, 2)) if self.tabs else " " * self.rng.choice((1, 2, 3, 4, 4, 8))
                open_blocks.append(open_blocks[-1] + deeper)
            yield open_blocks[r.depth], r.tokens

    def _around(self, indent: str, tokens: tuple[str, ...]) -> Iterator[str]:
        while self.rng.random() < self.comments / 2:
            yield self._own_comment()
        while self.rng.random() < 0.1:
            yield self.rng.choice(("", "", "  ", "\t"))
        lines = self._physical(tokens)
        yield indent + lines[0] + self._tail()
        for line in lines[1:]:
            while self.rng.random() < self.comments / 2:
                yield self.rng.choice((self._own_comment(), ""))
            yield self.rng.choice(("", "  ", "\t", "            ")) + line + self._tail()

    def _physical(self, tokens: tuple[str, ...]) -> list[str]:
        """The words of a line, gone on below after some of its commas."""
        lines, text = [], ""
        for index, token in enumerate(tokens):
            gap = self._gap(tokens[index - 1], token) if text else ""
            text += gap + token
            if token == "," and index + 1 < len(tokens) and self.rng.random() < self.loose / 4:
                lines.append(text)
                text = ""
        return [*lines, text]

    def _gap(self, before: str, after: str) -> str:
        if before == "+" or after in (",", ":"):
            return " " if self.rng.random() < self.loose / 4 else ""
        may_touch = before in (",", ":", "=") or after == "=" or before.startswith('"')
        unit = (after in UNITS and _NUMBER.fullmatch(before)) or (after in ("am", "pm") and ":" in before)
        if (may_touch or unit) and self.rng.random() < self.loose / 2:
            return ""
        return self.rng.choice(("  ", "\t", " \t ", "      ")) if self.rng.random() < self.loose / 2 else " "

    def _tail(self) -> str:
        space = self.rng.choice(("", " ", "  ", "\t", "          "))
        if self.rng.random() < self.comments:
            return space + self.rng.choice(COMMENTS)
        return space if self.rng.random() < self.loose / 4 else ""

    def _own_comment(self) -> str:
        return self.rng.choice(("", "  ", "    ", "\t", "        ", "\t\t", "   ")) + self.rng.choice(COMMENTS)
