"""Findings -> the same, less what is only the echo of a line that was read as if it had been mended.

Such a line has words that nobody wrote, or has them in another order, and all of them count as standing where the
mend would be made. What is found at that place is said of the mend, and a change made there would spoil the line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from sequencer.findings import Finding, Mend, Span


def without_echoes(findings: Iterable[Finding], read: Iterable[Finding]) -> Iterator[Finding]:
    """The findings of what a text means, given those of how it was read: their first mends were taken as made."""
    taken: dict[tuple[str, int], list[Span]] = {}
    for told in read:
        for edit in told.mends[0].edits if told.mends else ():
            for line in range(edit.span.line, edit.span.end_line + 1):
                taken.setdefault((edit.span.file, line), []).append(edit.span)
    for finding in findings:
        here = taken.get((finding.span.file, finding.span.line))
        if here is None:
            yield finding
        elif not any(_meet(finding.span, place) for place in here):
            yield replace(finding, mends=tuple(mend for mend in finding.mends if not _spoilt(mend, taken)))


def _spoilt(mend: Mend, taken: dict[tuple[str, int], list[Span]]) -> bool:
    return any(
        _meet(edit.span, place) for edit in mend.edits for place in taken.get((edit.span.file, edit.span.line), ())
    )


def _meet(one: Span, other: Span) -> bool:
    """Whether two stretches share a character, or one lies inside the other."""
    begin, end = (one.line, one.column), (one.end_line, one.end_column)
    first, last = (other.line, other.column), (other.end_line, other.end_column)
    if begin == end or first == last:
        return first <= begin and end <= last if begin == end else begin < first < end
    return begin < last and first < end
