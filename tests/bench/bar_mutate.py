"""Single-token slips in a show: what fingers and editors do to it, and how to take an offered mend.

A slip never touches comments or what stands in quotes, and never gives the same words again. Which slips leave
another valid show is not decided here.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.findings import Edit, Finding
from sequencer.language.lines import read_lines, strip_comment

KINDS = ("delete", "double", "swap", "typo", "junk", "replace")
# Words of the language whose absence a line shows.
KNOWN = frozenset(
    ", : = + % times of to at most or and on every running tripped while until extending fewer than"
    .split()
)
JUNK = ("@", ";", "?", "xyzzy", "!", "99", "&", "(", "]", "~", "\\", "$", "{", "'")
_TOKEN = re.compile(
    r'"[^"]*"|\d{1,2}:\d\d(?!\w)|\d+(?:st|nd|rd|th)(?!\w)'
    r'|\d+-\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|[^\W\d][\w./]*|\S'
)
_BREAK = re.compile(r"(\r\n|\n|\r)")


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip: the text after it, the lines on which a finding is at the right place, what was done."""

    kind: str
    text: str
    lines: frozenset[int]
    line: int
    before: str
    after: str
    token: str
    # Whether everything that was in the line is still known from the line: a good mend can then be expected.
    tells: bool

    def __str__(self) -> str:
        return f"{self.kind:8} {self.before.strip()!r} -> {self.after.strip()!r}"


def class_of(token: str) -> str:
    if token[0] == '"':
        return "text"
    if token[0].isdigit():
        return "number"
    return "word" if token[0].isalpha() or token[0] == "_" else "sign"


def physical(text: str) -> list[str]:
    """Lines and line ends in turn."""
    return _BREAK.split(text)


def logical_lines(text: str) -> dict[int, frozenset[int]]:
    """For each line with words, all lines of the same logical line."""
    found: dict[int, frozenset[int]] = {}
    todo = list(read_lines(text.removeprefix("\ufeff"), "")[0])
    while todo:
        line = todo.pop()
        numbers = frozenset(number for _, number, _ in line.starts)
        found.update(dict.fromkeys(numbers, numbers))
        todo += line.block
    return found


def slip(text: str, rng: random.Random, lines: Iterable[int] | None = None) -> Slip | None:
    """One random slip in one random line (of `lines`); None where the draw gave nothing new."""
    rows = physical(text)
    logical = logical_lines(text)
    number = rng.choice(sorted(lines if lines is not None else logical))
    raw = rows[2 * number - 2]
    code = strip_comment(raw)
    tokens = [(m.start(), m.end()) for m in _TOKEN.finditer(code)]
    index = rng.randrange(len(tokens))
    kind = rng.choice(KINDS)
    token = code[slice(*tokens[index])]
    changed = _changed(kind, code, tokens, index, rng, [m[0] for m in _TOKEN.finditer(strip_comment(rng.choice(rows)))])
    if changed is None or _words(changed) == _words(code):
        return None
    rows[2 * number - 2] = changed + raw[len(code) :]
    right = set(logical[number])
    if class_of(token) == "word":
        right |= {n for n in logical if re.search(rf"(?<!\w){re.escape(token)}(?!\w)", strip_comment(rows[2 * n - 2]))}
    tells = kind in ("double", "swap", "typo", "junk") or (kind == "delete" and token in KNOWN)
    return Slip(kind, "".join(rows), frozenset(right), number, code, changed, token, tells)


def _words(text: str) -> list[str]:
    return _TOKEN.findall(text)


def _changed(
    kind: str, code: str, tokens: list[tuple[int, int]], index: int, rng: random.Random, others: list[str]
) -> str | None:
    """The line with the slip; None where this kind of slip means nothing for the token drawn."""
    begin, end = tokens[index]
    token = code[begin:end]
    new: list[str] | None = None
    if kind == "delete" and len(tokens) > 1:
        new = []
    elif kind == "double":
        new = [token, token]
    elif kind == "junk":
        new = [rng.choice(JUNK), token]
    elif kind == "typo" and len(token) > 2 and class_of(token) == "word":
        new = [typo(token, rng)]
    elif kind == "replace" and class_of(token) != "text":
        others = [other for other in others if class_of(other) not in (class_of(token), "text")]
        new = [rng.choice(others)] if others else None
    elif kind == "swap" and index + 1 < len(tokens):
        begin_after, end = tokens[index + 1]
        new = [code[begin_after:end], token]
    return None if new is None else _set_in(code[:begin], new, code[end:])


def _set_in(before: str, new: list[str], after: str) -> str:
    """The pieces with a space wherever two words or numbers would run together."""
    text = before
    for token in [*new, after.lstrip(" \t")]:
        gap = text and not text[-1].isspace() and token and class_of(token) != "sign" and text[-1] != "+"
        text += (" " if gap else "") + token
    return text


def typo(word: str, rng: random.Random) -> str:
    """Two letters swapped, one left out, put in, or another."""
    at, letter = rng.randrange(len(word) - 1), rng.choice("abcdefghijklmnopqrstuvwxyz")
    return rng.choice((
        word[:at] + word[at + 1] + word[at] + word[at + 2 :], word[:at] + word[at + 1 :],
        word[:at] + letter + word[at:], word[:at] + letter + word[at + 1 :],
    ))


def apply(text: str, edits: Iterable[Edit]) -> str:
    """The text with the edits made; places are lines and columns from 1."""
    body = text.removeprefix("\ufeff")
    rows = physical(body)
    starts, offset = [], 0
    for index, part in enumerate(rows):
        if index % 2 == 0:
            starts.append(offset)
        offset += len(part)
    for edit in sorted(edits, key=lambda e: e.span, reverse=True):
        begin = starts[edit.span.line - 1] + edit.span.column - 1
        end = starts[edit.span.end_line - 1] + edit.span.end_column - 1
        body = body[:begin] + edit.text + body[end:]
    return text[: len(text) - len(text.removeprefix("\ufeff"))] + body


def same_words(one: str, other: str) -> bool:
    """Whether two texts differ in spacing at most, line by line."""
    return [_words(row) for row in physical(one)] == [_words(row) for row in physical(other)]


def inside(finding: Finding, text: str) -> bool:
    """Whether every place of a finding lies within the text."""
    rows = physical(text.removeprefix("\ufeff"))[::2]
    spans = [finding.span, *(label.span for label in finding.labels), *(e.span for m in finding.mends for e in m.edits)]
    return all(
        1 <= line <= len(rows) and 1 <= column <= len(rows[line - 1]) + 1
        for s in spans for line, column in ((s.line, s.column), (s.end_line, s.end_column))
    ) and all((s.line, s.column) <= (s.end_line, s.end_column) for s in spans)
