"""Marked places of one file -> the source lines with underlines, as text for a terminal.

Tabs of the source are kept and its wide and joining characters are counted, so that a mark stands under what
it marks. Which places are marked and what stands around the excerpt is said in `render`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sequencer.cli.terminal import Look
from sequencer.cli.text import blank, visible, width, wrap
from sequencer.findings import Span
from sequencer.frozen import frozen

_CUT = "..."
_MOST_LINES = 5
_LEAST_ROOM = 20


@frozen
class Mark:
    """A place to underline, in a style, with the words that stand beside it."""

    span: Span
    style: str
    sign: str = "-"
    text: str = ""


@frozen
class _Stroke:
    """The part of a mark on one line: columns from 1, the end exclusive; words only on its last line."""

    mark: Mark
    start: int
    end: int
    text: str


def excerpt(lines: Sequence[str], marks: Iterable[Mark], look: Look) -> list[str]:
    """The lines that the marks touch, in the order of the file, each with its underlines below it."""
    touched: dict[int, list[_Stroke]] = {}
    for mark in marks:
        for number, stroke in _strokes(lines, mark):
            touched.setdefault(number, []).append(stroke)
    if not touched:
        return []
    digits = len(str(max(touched)))
    rows: list[str] = []
    before: int | None = None
    for number in sorted(touched):
        if before is not None and number > before + 1:
            rows.append("  " + look.paint("margin", f"{_CUT:>{max(digits, len(_CUT))}}"))
        rows += _line_with_strokes(lines[number - 1], number, digits, touched[number], look)
        before = number
    return rows


def margin(number: int | str, digits: int, sign: str, look: Look) -> str:
    """What stands left of a source line."""
    return "  " + look.paint("margin", f"{number:>{max(digits, len(_CUT))}} {sign} ")


def _strokes(lines: Sequence[str], mark: Mark) -> Iterator[tuple[int, _Stroke]]:
    """The mark on each line it touches; the middle of a long one is left out."""
    if not lines:
        return
    span = _inside(mark.span, lines)
    first, last = span.line, span.end_line
    if last > first and span.end_column == 1:
        last -= 1
    numbers = list(range(first, last + 1))
    if len(numbers) > _MOST_LINES:
        numbers = [*numbers[: _MOST_LINES - 2], numbers[-1]]
    for number in numbers:
        line = lines[number - 1]
        edge = len(line) + 1
        start = span.column if number == span.line else len(line) - len(line.lstrip()) + 1
        end = span.end_column if number == span.end_line else edge
        start = min(start, edge)
        if start >= end and number != last:
            continue
        text = mark.text if number == numbers[-1] else ""
        yield number, _Stroke(mark, start, max(min(end, edge), start), text)


def _inside(span: Span, lines: Sequence[str]) -> Span:
    """The span with what lies behind the end of the text drawn back to that end."""
    last = len(lines)
    edge = len(lines[-1]) + 1
    line, column = (span.line, span.column) if span.line <= last else (last, edge)
    end_line, end_column = (span.end_line, span.end_column) if span.end_line <= last else (last, edge)
    return Span(span.file, line, column, end_line, end_column)


def _line_with_strokes(
    line: str, number: int, digits: int, strokes: Sequence[_Stroke], look: Look
) -> list[str]:
    left = width(margin("", digits, "|", Look()))
    room = max(look.width - left, _LEAST_ROOM)
    rows: list[str] = []
    shown: tuple[int, int] | None = None
    for stroke in strokes:
        if shown is None or not (shown[0] < stroke.start and stroke.end <= shown[1] + 1):
            shown = _window(line, stroke.start - 1, stroke.end - 1, room, left)
            rows.append(margin(number, digits, "|", look) + _cut(line, shown))
        rows += [margin("", digits, "|", look) + row for row in _underline(line, shown, stroke, left, look)]
    return rows


def windowed(line: str, start: int, end: int, room: int, left: int) -> str:
    """The part of `line` around the offsets `start` to `end` that fits into `room` columns after `left`."""
    return _cut(line, _window(line, start, end, room, left))


def _window(line: str, start: int, end: int, room: int, left: int) -> tuple[int, int]:
    """The stretch of the line to show, as offsets; all of it where it fits."""
    if width(line, left) <= room:
        return 0, len(line)
    room -= 2 * len(_CUT)
    first = last = min(start, len(line))
    used = 0
    # Over the marked stretch first, then to the left, then wherever there is room.
    for limit, edge in ((room * 2 // 3, min(end, len(line))), (room, len(line))):
        while last < edge and used + width(line[last]) <= limit:
            used += width(line[last])
            last += 1
        while first > 0 and used + width(line[first - 1]) <= max(limit, room * 3 // 4):
            first -= 1
            used += width(line[first])
    return first, last


def _cut(line: str, window: tuple[int, int]) -> str:
    start, end = window
    text = visible(line[start:end])
    if (start, end) == (0, len(line)):
        return text
    # Tabs that have lost what stood before them would go anywhere.
    text = text.replace("\t", " ")
    return (_CUT if start else "") + text + (_CUT if end < len(line) else "")


def _underline(line: str, window: tuple[int, int], stroke: _Stroke, left: int, look: Look) -> list[str]:
    """The underline of one stroke, with its words behind it where they fit and below it where not."""
    start, end = window
    whole = (start, end) == (0, len(line))
    first = min(max(stroke.start - 1, start), end)
    before, marked = visible(line[start:first]), visible(line[first : max(min(stroke.end - 1, end), first)])
    if not whole:
        before, marked = (_CUT if start else "") + before.replace("\t", " "), marked.replace("\t", " ")
    lead = blank(before)
    column = left + width(before, left)
    length = width(marked, column) or 1
    sign = stroke.mark.sign if marked else "^"
    drawn = lead + look.paint(stroke.mark.style, sign * length)
    if not stroke.text:
        return [drawn]
    words = visible(stroke.text)
    if column + length + 1 + width(words) <= look.width:
        return [f"{drawn} {look.paint(stroke.mark.style, words)}"]
    room = max(look.width - left - 2, _LEAST_ROOM)
    return [drawn, *("  " + look.paint(stroke.mark.style, row) for row in wrap(words, room))]
