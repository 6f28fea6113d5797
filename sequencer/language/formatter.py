"""The text of a show -> the same show in the one style. Works on words and comments, not on trees.

The style: four spaces a block; one space between words, none before a comma or colon, one between a number and
its unit; the actions of a cue block stand in one column, and so do the properties of parts that follow each other
on single lines; comments at the ends of neighbouring lines stand in one column; at most one blank line in a row.
Where the author broke a line after a comma stays his. Comments keep their words, the file its line ends (the most
frequent one, where they are mixed) and its byte order mark.

A file with anything unreadable in it comes back as it was, whole: half a style would hide where the fault is. The
tree before and after is compared, and should they ever differ the text comes back as it was, too.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass

from sequencer.findings import Span
from sequencer.language import tree
from sequencer.language.lines import Line, read_lines, strip_comment
from sequencer.language.reader import read_document
from sequencer.memo import Memo
from sequencer.phrases import Atom, AtomKind
from sequencer.units import Quantity

INDENT = "    "
# A line that goes on stands deeper than a block would, so that it is not taken for one.
CONTINUED = INDENT * 2
# A head longer than this stands out of the column instead of pushing it to the right.
LONGEST_HEAD = {"cue": 24, "part": 40}
# Likewise a line before its comment.
LONGEST_BEFORE_COMMENT = 76

_BREAK = re.compile(r"\r\n|\n|\r")
_TOKEN = re.compile(
    r'"[^"]*"|\d{1,2}:\d\d(?=\s*[ap]m(?!\w)|(?!\w))|\d+(?:st|nd|rd|th)(?!\w)'
    r'|-?(?:\d+-\d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?![\d.\/])|[:,+=]|[^\s",:+=]+|"'
)
_CUE = re.compile(r"[\d+]|(?:then|when|otherwise)\b|[^\W\d]\w*\s*:")
_PART = re.compile(r"[^\W\d]\w*\s+[^\W\d]\w*")
_NOT_ALIGNED = re.compile(r"(?:never|night|stop|alarm|scare|idle|gesture|show|use|let|at)\b")


@dataclass(slots=True)
class _Row:
    """One line of the output before its columns are fixed: `head`, spaces to `column`, `tail`, comment."""

    number: int
    indent: str
    head: str
    tail: str = ""
    comment: str = ""
    column: int = 0

    @property
    def code(self) -> str:
        if not self.tail:
            return f"{self.indent}{self.head}"
        return f"{self.indent}{self.head:<{self.column}}{self.tail}"


@dataclass(slots=True)
class _Placed:
    """A logical line with its depth, and the rows it becomes."""

    line: Line
    depth: int
    rows: list[_Row]
    kind: str


def format_source(text: str) -> str:
    """The show in the one style; the text itself where it cannot be read, or already has the style.

    Never raises. `format_source(format_source(text)) == format_source(text)`.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text[len(mark) :]
    tidy = _tidy(body)
    if tidy is None or tidy == body:
        return text
    return mark + tidy if same_show(body, tidy) else text


def same_show(one: str, other: str) -> bool:
    """Whether both texts can be read without a finding and say the same, wherever on the page it stands."""
    memo = Memo()
    before, after = (read_document(text.encode("utf-8", "surrogatepass"), "", memo) for text in (one, other))
    return not before.findings and not after.findings and _same(before.nodes, after.nodes)


def _same(some: Sequence[tree.Node], others: Sequence[tree.Node]) -> bool:
    """Whether two blocks say the same; a line that was not moved was read once, and is the same by itself."""
    return len(some) == len(others) and all(
        one.repaired == other.repaired
        and (one.head is other.head or _meaning(one.head) == _meaning(other.head))
        and _same(one.block, other.block)
        for one, other in zip(some, others, strict=True)
    )


def _meaning(value: object) -> object:
    """What a line says without its places; the space between a number and its unit says nothing."""
    if isinstance(value, Span):
        return None
    if isinstance(value, (tuple, list)):
        return tuple(_meaning(item) for item in value)
    if isinstance(value, Quantity):
        return value.si, value.unit.symbol, "".join(value.text.split())
    if isinstance(value, Atom) and value.kind in (AtomKind.QUANTITY, AtomKind.CLOCK):
        return value.kind, "".join(value.text.split()), _meaning(value.value)
    if is_dataclass(value):
        return type(value), *(_meaning(getattr(value, f.name)) for f in fields(value))
    return value


def _tidy(text: str) -> str | None:
    """The text in the style, or None where even its lines cannot be told apart."""
    forest, findings = read_lines(text, "")
    if findings:
        return None
    placed = list(_placed(forest, 0))
    _align_blocks(forest, {id(p.line): p for p in placed})
    rows = _with_comments(_BREAK.split(text), placed)
    _align_comments(rows)
    breaks = Counter(_BREAK.findall(text))
    return _text(rows, breaks.most_common(1)[0][0] if breaks else "\n")


def _placed(lines: list[Line], depth: int) -> Iterator[_Placed]:
    for line in lines:
        yield _Placed(line, depth, _rows(line, INDENT * depth), _kind(line.text))
        yield from _placed(line.block, depth + 1)


def _kind(text: str) -> str:
    if _CUE.match(text) and not _NOT_ALIGNED.match(text):
        return "cue"
    return "part" if _PART.match(text) and not _NOT_ALIGNED.match(text) else "other"


def _rows(line: Line, indent: str) -> list[_Row]:
    """One row a physical line."""
    rows: list[_Row] = []
    ends = [start[0] - 1 for start in line.starts[1:]] + [len(line.text)]
    for (begin, number, _), end in zip(line.starts, ends, strict=True):
        head, tail = _head_and_tail(line.text[begin:end])
        if rows:
            rows.append(_Row(number, indent + CONTINUED, f"{head} {tail}" if tail else head))
        else:
            rows.append(_Row(number, indent, head, tail, column=len(head) + 1))
    return rows


def _head_and_tail(text: str) -> tuple[str, str]:
    """The words up to the first colon, and those behind it."""
    tokens: list[str] = _TOKEN.findall(text)
    cut = tokens.index(":") + 1 if ":" in tokens else len(tokens)
    return _join(tokens[:cut]), _join(tokens[cut:])


def _join(tokens: list[str]) -> str:
    text = ""
    for token in tokens:
        glued = not text or token in (",", ":") or text[-1] == "+"
        text += token if glued else f" {token}"
    return text


# Columns


def _align_blocks(lines: list[Line], placed: dict[int, _Placed]) -> None:
    """Puts what stands behind the colons of a run of lines in one column, block by block."""
    run: list[_Placed] = []
    for line in lines:
        here = placed[id(line)]
        if not (run and _joins(run[-1], here)):
            _set_column(run)
            run = []
        run.append(here)
        _align_blocks(line.block, placed)
    _set_column(run)


def _joins(above: _Placed, here: _Placed) -> bool:
    """All cues of a block stand in one column; parts only where they follow each other line by line."""
    if above.kind != here.kind or here.kind == "other":
        return False
    return here.kind == "cue" or (
        bool(above.rows[0].tail and here.rows[0].tail) and not above.line.block
        and here.line.number == above.rows[-1].number + 1
    )


def _set_column(run: list[_Placed]) -> None:
    if not run or run[0].kind == "other":
        return
    gap = 2 if run[0].kind == "cue" else 1
    firsts = [p.rows[0] for p in run]
    heads = [len(r.head) for r in firsts if r.tail and len(r.head) <= LONGEST_HEAD[run[0].kind]]
    widest = max(heads, default=0)
    for p, first in zip(run, firsts, strict=True):
        first.column = max(widest, len(first.head)) + gap
        if first.tail:
            for row in p.rows[1:]:
                row.indent = first.indent + " " * first.column


# Comments and blank lines


def _with_comments(physical: list[str], placed: list[_Placed]) -> list[_Row | None]:
    """All rows in order, with comments; None is a blank line."""
    by_number = {row.number: (index, row) for index, p in enumerate(placed) for row in p.rows}
    out: list[_Row | None] = []
    above = -1
    for number, raw in enumerate(physical, 1):
        found = by_number.get(number)
        comment = raw[len(strip_comment(raw)) :].rstrip() if "#" in raw else ""
        if found is not None:
            if found[0] > above >= 0 and placed[found[0]].depth > placed[above].depth and out[-1] is None:
                out.pop()
            above, row = found
            row.comment = comment
            out.append(row)
        elif comment:
            width = len(raw[: raw.index("#")].expandtabs(len(INDENT)))
            out.append(_Row(number, _comment_indent(placed, above, number, width), "", comment=comment))
        elif out and out[-1] is not None and not (above >= 0 and _inside(placed[above], number)):
            out.append(None)
    while out and out[-1] is None:
        out.pop()
    return out


def _inside(p: _Placed, number: int) -> bool:
    """Whether a physical line lies within a logical one that goes on after a comma."""
    return p.rows[0].number < number < p.rows[-1].number


def _comment_indent(placed: list[_Placed], above: int, number: int, width: int) -> str:
    """A comment stands as deep as the line below it; after a block, as deep as it was put among the open ones."""
    if above >= 0 and _inside(placed[above], number):
        return placed[above].rows[-1].indent
    below = placed[above + 1].depth if above + 1 < len(placed) else 0
    depth = below
    for p in reversed(placed[: above + 1]):
        if p.depth <= below:
            break
        if len(p.line.indent.expandtabs(len(INDENT))) <= width:
            depth = p.depth
            break
    return INDENT * depth


def _align_comments(rows: list[_Row | None]) -> None:
    """Comments behind neighbouring lines start in one column."""
    run: list[_Row] = []
    for row in [*rows, None]:
        if row is not None and row.comment and row.head and len(row.code) <= LONGEST_BEFORE_COMMENT:
            run.append(row)
            continue
        column = max((len(r.code) for r in run), default=0)
        for r in run:
            r.comment = " " * (column - len(r.code)) + r.comment
        run = []


def _text(rows: list[_Row | None], line_end: str) -> str:
    lines = []
    for row in rows:
        if row is None:
            lines.append("")
        elif row.head:
            lines.append(f"{row.code}  {row.comment}" if row.comment else row.code)
        else:
            lines.append(row.indent + row.comment)
    return "".join(line + line_end for line in lines)
