"""A text and edits to it -> the text with the edits made. Knows offsets; nothing of files on disk.

Edits are made in one pass from the end backwards, so that none moves the place of another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sequencer.cli.text import BREAK, split_lines
from sequencer.findings import Edit, Mend, Span
from sequencer.frozen import frozen


@frozen
class Changed:
    """One stretch of lines that edits changed: its first line, and its lines before and after."""

    line: int
    before: tuple[str, ...]
    after: tuple[str, ...]


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """`text` with all `edits` made. They must not overlap; a line end put in is that of the file."""
    offsets = line_offsets(text)
    line_end = line_end_of(text)
    for start, end, put in reversed(sorted((*_offsets(edit, offsets, text), edit.text) for edit in edits)):
        text = text[:start] + BREAK.sub(line_end, put) + text[end:]
    return text


def chosen(mends: Iterable[Mend]) -> tuple[Mend, ...]:
    """Of `mends`, in order, those that do not touch what an earlier one changes."""
    taken: list[Edit] = []
    kept: list[Mend] = []
    for mend in mends:
        if mend.edits and not any(_touch(one, other) for one in mend.edits for other in taken):
            taken += mend.edits
            kept.append(mend)
    return tuple(kept)


def preview(lines: Sequence[str], mend: Mend, file: str) -> tuple[Changed, ...]:
    """What `mend` would change in the `lines` of `file`; edits that stand apart give a stretch each."""
    groups: list[list[Edit]] = []
    for edit in sorted((e for e in mend.edits if e.span.file == file), key=lambda e: e.span):
        if groups and edit.span.line <= groups[-1][-1].span.end_line + 1:
            groups[-1].append(edit)
        else:
            groups.append([edit])
    return tuple(_changed(lines, group) for group in groups)


def _changed(lines: Sequence[str], edits: Sequence[Edit]) -> Changed:
    first = min(edits[0].span.line, len(lines))
    last = min(max(edit.span.end_line for edit in edits), len(lines))
    before = tuple(lines[first - 1 : last])
    moved = [Edit(_lifted(edit.span, first - 1), edit.text) for edit in edits]
    return Changed(first, before, tuple(split_lines(apply_edits("\n".join(before), moved))))


def _lifted(span: Span, lines: int) -> Span:
    return Span(span.file, span.line - lines, span.column, span.end_line - lines, span.end_column)


def line_offsets(text: str) -> list[int]:
    """The offset at which each line starts."""
    return [0, *(found.end() for found in BREAK.finditer(text))]


def line_end_of(text: str) -> str:
    """The line end that most lines of `text` have; a line feed where it has none."""
    ends = [found.group() for found in BREAK.finditer(text)]
    return max(("\n", "\r\n", "\r"), key=ends.count) if ends else "\n"


def _offsets(edit: Edit, offsets: list[int], text: str) -> tuple[int, int]:
    start = _offset(edit.span.line, edit.span.column, offsets, text)
    return start, max(start, _offset(edit.span.end_line, edit.span.end_column, offsets, text))


def _offset(line: int, column: int, offsets: list[int], text: str) -> int:
    if line > len(offsets):
        return len(text)
    return min(offsets[line - 1] + column - 1, offsets[line] if line < len(offsets) else len(text))


def _touch(one: Edit, other: Edit) -> bool:
    """Whether two edits share a character or start at the same place, so that their order would matter."""
    if one.span.file != other.span.file:
        return False
    starts = (one.span.line, one.span.column), (other.span.line, other.span.column)
    ends = (one.span.end_line, one.span.end_column), (other.span.end_line, other.span.end_column)
    return starts[0] == starts[1] or (starts[0] < ends[1] and starts[1] < ends[0])
