"""Findings: what is wrong with a show, as values. How they look is said in `cli/` and `pages/`.

A `Rule` is the entry of the catalogue (code, why, source, a failing and a mended example); a `Finding` is one
place in one file where the rule bites. Findings are collected and returned, never raised.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from enum import Enum

from sequencer.frozen import frozen, frozen_ordered


class Severity(Enum):
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@frozen_ordered
class Span:
    """A stretch of a file; lines and columns (in code points) count from 1, the end is exclusive."""

    file: str
    line: int
    column: int
    end_line: int
    end_column: int

    def to(self, other: Span) -> Span:
        return Span(self.file, self.line, self.column, other.end_line, other.end_column)

    @property
    def start(self) -> Span:
        """The empty stretch before the first character: where something is to be put in."""
        return Span(self.file, self.line, self.column, self.line, self.column)

    @property
    def after(self) -> Span:
        """The empty stretch behind the last character."""
        return Span(self.file, self.end_line, self.end_column, self.end_line, self.end_column)


@frozen
class Edit:
    """Put `text` in the place of `span`."""

    span: Span
    text: str


@frozen
class Mend:
    """A change that would mend a finding.

    `safe` means: cannot change what a show that is otherwise right does, and is what was meant, so
    `check --mend` applies it unasked. Everything else is only offered.
    """

    title: str
    edits: tuple[Edit, ...]
    safe: bool = False


@frozen
class Label:
    """A second place that helps to see why, with its own words."""

    span: Span
    text: str


@frozen
class Finding:
    code: str
    severity: Severity
    span: Span
    message: str
    labels: tuple[Label, ...] = ()
    mends: tuple[Mend, ...] = ()


@frozen
class Rule:
    """One entry of the catalogue.

    `failing` and `mended` are whole shows; the tests check that the first gives this code and the second
    does not give it. `source` names where the limit comes from, or says that there is none.
    """

    code: str
    title: str
    why: str
    failing: str
    mended: str
    severity: Severity = Severity.ERROR
    source: str = "follows from the language itself"
    # A rule whose example needs more than one file, or bytes that no text can show, is tested elsewhere.
    companions: dict[str, str] = field(default_factory=dict)

    def at(
        self,
        span: Span,
        message: str,
        *,
        mends: Iterable[Mend] = (),
        labels: Iterable[Label] = (),
        severity: Severity | None = None,
    ) -> Finding:
        return Finding(self.code, severity or self.severity, span, message, tuple(labels), tuple(mends))


def has_errors(findings: Iterable[Finding]) -> bool:
    return any(finding.severity is Severity.ERROR for finding in findings)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By file and place; one finding a rule and place, since two roads can lead to the same fault."""
    unique = {(f.span, f.code, f.message): f for f in findings}
    return tuple(sorted(unique.values(), key=lambda f: (f.span, f.code)))


def closest(word: str, choices: Iterable[str], most: int = 1) -> tuple[str, ...]:
    """The names that `word` was likely meant to be, best first; empty where none is near.

    >>> closest("retrats", ["extends", "retracts"])
    ('retracts',)
    """
    limit = 1 if len(word) <= 3 else 2 if len(word) <= 7 else 3
    plain = word.casefold()
    ranked = []
    for choice in set(choices):
        distance = edit_distance(plain, choice.casefold(), limit)
        if distance <= limit and distance < max(len(word), len(choice)):
            ranked.append((distance, word[:1] != choice[:1], choice))
    return tuple(choice for _, _, choice in sorted(ranked)[:most])


def edit_distance(one: str, other: str, limit: int) -> int:
    """Steps (put in, take out, replace, swap two neighbours) from one word to the other; `limit + 1` if more.

    The optimal string alignment distance: a swapped pair of letters is one slip of the fingers, not two.
    """
    if abs(len(one) - len(other)) > limit:
        return limit + 1
    # Each step puts in or takes out one letter at most of those that only one of the words has.
    letters, others = set(one), set(other)
    if len(letters - others) > limit or len(others - letters) > limit:
        return limit + 1
    one, other = _differing(one, other)
    if not one or not other:
        return len(one) + len(other)
    before: list[int] = []
    above = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            best = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                best = min(best, before[j - 2] + 1)
            row.append(best)
        if min(row) > limit:
            return limit + 1
        before, above = above, row
    return min(above[-1], limit + 1)


def _differing(one: str, other: str) -> tuple[str, str]:
    """Both words without what they begin and end with in common, which takes no step."""
    shorter = min(len(one), len(other))
    begin = 0
    while begin < shorter and one[begin] == other[begin]:
        begin += 1
    end = 0
    while end < shorter - begin and one[-1 - end] == other[-1 - end]:
        end += 1
    return one[begin : len(one) - end], other[begin : len(other) - end]
