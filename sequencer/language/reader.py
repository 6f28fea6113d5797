"""Lines -> syntax tree. Each line is parsed by itself, with the start symbol that is due at its place.

A line that cannot be read is one finding; its neighbours and its block are read all the same, and where one
change makes it readable that change is offered and the line is read as if it had been made.
"""

from __future__ import annotations

import re
from dataclasses import replace
from enum import Enum
from functools import partial
from typing import TYPE_CHECKING, Any

from sequencer.findings import Edit, Finding, Label, Mend
from sequencer.frozen import frozen
from sequencer.language import rules, tree
from sequencer.language.build import broken
from sequencer.language.grammar import engine
from sequencer.language.lines import BREAK, Line, decode, has_colon, lines_from, read_lines, stray_comma
from sequencer.language.name_rules import NO_UNIT
from sequencer.language.patience import MOST_OF_A_FILE, MOST_OF_A_LINE, Patience
from sequencer.language.pieces import pieces_of
from sequencer.language.strays import Stray, find_stray, may_stray
from sequencer.memo import Memo, uncollected
from sequencer.units import UNITS

if TYPE_CHECKING:
    from sequencer.language.repairs import Repair
    from sequencer.language.syntax import Fault


class Place(Enum):
    """Where a line stands, which decides what kind of line is due."""

    FILE = "the file"
    PART = "a part"
    SCARE = "a scare"
    CUES = "a block of cues"
    ARMS = "`pick one:`"
    NIGHT = "the night"
    SAFE = "`stop`"


_SPOIL_A_LINE = (rules.ODD_CHARACTER.code, rules.FOREIGN_NUMBER.code)
"""What is said of the characters of a line already, so that nothing is said of the words that come of it."""
_MOST_BROKEN = 1_000
_MOST_ROWS = 12
"""After so many rows of one line no stray comma is looked for: each is a trial of all its rows."""

FIRST_WORDS = {
    "show": "show_line", "use": "use_line", "let": "let_line", "night": "night_line", "scare": "scare_line",
    "idle": "idle_line", "gesture": "gesture_line", "never": "never_line", "at": "at_most_line",
    "stop": "stop_line", "alarm": "stop_line",
}
IN_PART = ("scare", "idle", "gesture", "stop", "alarm", "never", "at")
POLICIES = ("while", "rest", "rank")
_FIRST_WORD = re.compile(r"[^\s:,=\"]*")
_OPENS_CUES = re.compile(r"\b(?:repeat|pick|if|every)\b")
_ARM = re.compile(r"\d+\s+of\b")
_LIKE_A_CUE = re.compile(r"[\d+]|(?:then|when)\b")
_OPENS = {
    "part_line": Place.PART, "scare_line": Place.SCARE, "idle_line": Place.SCARE, "gesture_line": Place.CUES,
    "cue_line": Place.CUES, "arm_line": Place.CUES, "otherwise_line": Place.CUES, "night_line": Place.NIGHT,
    "stop_line": Place.SAFE,
}
_BELOW = {
    tree.PartHead: Place.PART, tree.ScareHead: Place.SCARE, tree.GestureHead: Place.CUES, tree.Night: Place.NIGHT,
    tree.Safe: Place.SAFE, tree.Arm: Place.CUES, tree.Otherwise: Place.CUES,
}


@frozen
class Document:
    """One file, read: its nodes, and what is wrong with its text."""

    file: str
    nodes: tuple[tree.Node, ...]
    findings: tuple[Finding, ...]
    text: str = ""


def read_document(data: bytes, file: str, memo: Memo | None = None) -> Document:
    """Bytes of a file -> its tree and findings. Never raises for what the bytes hold."""
    text, findings = decode(data, file)
    if text is None:
        return Document(file, (), findings, data.decode("utf-8-sig", "replace"))
    memo = memo or Memo(lasting=False)
    with uncollected():
        return (_in_pieces(text, file, memo) if memo.lasting else None) or _in_one(text, file, memo)


def _in_one(text: str, file: str, memo: Memo) -> Document:
    lines, odd = read_lines(text, file)
    if any(finding.code == rules.TOO_DEEP.code for finding in odd):
        return Document(file, (), odd, text)
    reader = _Reader(odd, memo)
    try:
        nodes = tuple(reader.read_all(lines, Place.FILE))
    except _TooBroken as given_up:
        return Document(file, (), (_no_show(given_up.line, reader.first),), text)
    return Document(file, nodes, odd + tuple(reader.findings), text)


@frozen
class _Piece:
    """A piece of a file, read. `tried`: characters read in search of mends; `goes_on`: it ends in a comma."""

    nodes: tuple[tree.Node, ...]
    findings: tuple[Finding, ...]
    tried: int
    broken: int
    goes_on: bool


def _in_pieces(text: str, file: str, memo: Memo) -> Document | None:
    """Each piece is remembered. None where what is to be said hangs on the file as a whole."""
    nodes: list[tree.Node] = []
    findings: list[Finding] = []
    tried, broken, held = 0, 0, ""
    pieces = pieces_of(text)
    rows = 0
    for index, (number, piece) in enumerate(pieces):
        number, piece = number - BREAK.subn("", held)[1], held + piece
        read = memo.of(("piece", file, number, piece), partial(_read_piece, piece, file, number, memo))
        held = piece if read is not None and read.goes_on and index + 1 < len(pieces) else ""
        rows = rows + 1 if held else 0
        if read is None or rows > _MOST_ROWS:
            return None  # what goes on for long would be read again with each of its rows
        if not held:
            nodes += read.nodes
            findings += read.findings
            tried, broken = tried + read.tried, broken + read.broken
            if broken >= _MOST_BROKEN or tried > MOST_OF_A_FILE - MOST_OF_A_LINE:
                return None
    return Document(file, tuple(nodes), tuple(findings), text) if nodes else None


def _read_piece(text: str, file: str, number: int, memo: Memo) -> _Piece | None:
    lines, odd = lines_from(text, file, number)
    if any(finding.code == rules.TOO_DEEP.code for finding in odd):
        return None
    reader = _Reader(odd, memo)
    try:
        nodes = tuple(reader.read_all(lines, Place.FILE))
    except _TooBroken:
        return None
    below = lines
    while below:
        last, below = below[-1], below[-1].block
    tried = MOST_OF_A_FILE - reader.patience.left
    return _Piece(nodes, odd + tuple(reader.findings), tried, reader.broken, bool(lines) and last.goes_on)


def _no_show(line: Line, first: Line | None) -> Finding:
    message = (f"Up to this line {_MOST_BROKEN:,} lines cannot be read, so this file is no show and was not read on. "
               "A show begins with `show \"Name\"`.")
    labels = (Label(first.whole, "the first of them"),) if first is not None else ()
    return rules.NOT_A_SHOW.at(line.whole, message, labels=labels)


def parse_line(text: str, start: str) -> tree.Head:
    """One line by itself, such as a phrase of the shelf. Raises lark's UnexpectedInput."""
    reads = engine()
    reads.builder.line = Line("shelf", 1, "", text, ((0, 1, 1),))
    head = reads.quick.read(text, start)
    return reads.lark.parse(text, start=start) if head is None else head  # type: ignore[return-value]


_Read = tuple[tree.Head, bool, tuple[Finding, ...], int]
"""Head of a line, whether it was repaired first, what is wrong with the line, and how long mends were searched."""


class _TooBroken(Exception):
    """So many lines cannot be read that reading on helps nobody."""

    def __init__(self, line: Line) -> None:
        super().__init__(line)
        self.line = line


class _Reader:
    def __init__(self, odd: tuple[Finding, ...], memo: Memo) -> None:
        self.findings: list[Finding] = []
        self.memo = memo
        self.engine = engine()
        self.builder = self.engine.builder
        self.odd_lines = {found.span.line: found.code for found in odd if found.code in _SPOIL_A_LINE}
        self.patience = Patience()
        self.broken, self.first = 0, None  # type: int, Line | None

    def read(self, line: Line, place: Place) -> tree.Node:
        start = start_of(line, place)
        odd = next((self.odd_lines[row[1]] for row in line.starts if row[1] in self.odd_lines), None)
        room = self.patience.of_a_line()
        before = self.patience.left
        reading = partial(self._head, line, start, place, odd)
        if self.memo.lasting:
            key = ("line", odd, line.file, line.starts, line.text, start, place.value, bool(line.block), room)
            head, repaired, findings, tried = self.memo.of(key, reading)
        else:
            head, repaired, findings, tried = reading()
        self.patience.left = before - tried
        self.findings += findings
        if isinstance(head, tree.Broken) or repaired:
            self.broken, self.first = self.broken + 1, self.first or line
        if self.broken >= _MOST_BROKEN:
            raise _TooBroken(line)
        node = tree.Node(head, line.whole, repaired, text=line.text)
        inside = _place_below(node.head, start)
        if line.block and isinstance(node.head, tree.PartHead) and not node.repaired and not has_colon(line.text):
            self._no_colon(line)
        if line.block and inside is None:
            self._no_block(line, start)
            inside = place
        if isinstance(head, tree.Broken) and line.block and _ARM.match(line.block[0].text):
            inside = Place.ARMS
        node.block = self.read_all(line.block, inside or place)
        return node

    def read_all(self, lines: list[Line], place: Place) -> list[tree.Node]:
        """The lines of one block."""
        return [self.read(part, place) for line in lines for part in self._unjoined(line, place)]

    def _unjoined(self, line: Line, place: Place) -> list[Line]:
        """A line that goes on only because of a stray comma at its end, taken apart again."""
        if len(line.starts) == 1:
            return [line]
        taking_apart = partial(self._taken_apart, line, place)
        key = ("joined", line.file, line.starts, line.text, place.value, bool(line.block))
        parts, findings = self.memo.of(key, taking_apart) if self.memo.lasting else taking_apart()
        if not findings:
            return [line]
        self.findings += findings
        parts[-1].block = line.block
        return [*parts[:-1], *self._unjoined(parts[-1], place)]

    def _taken_apart(self, line: Line, place: Place) -> tuple[list[Line], tuple[Finding, ...]]:
        if self._reads(line, place):
            return [line], ()
        for index, (cut, number, column) in enumerate(line.starts[1:_MOST_ROWS], 1):
            comma = line.text.rindex(",", 0, cut)
            above = Line(line.file, line.number, line.indent, line.text[:comma].rstrip(), line.starts[:index])
            starts = tuple((at - cut, n, c) for at, n, c in line.starts[index:])
            below = Line(line.file, number, " " * (column - 1), line.text[cut:], starts, line.block)
            if above.text and self._reads(above, place) and self._reads(below, place):
                return [above, below], (stray_comma(line.span(comma, comma + 1), number),)
        return [line], ()

    def _reads(self, line: Line, place: Place) -> bool:
        self.builder.line = line
        head = self.engine.quick.read(line.text, start_of(line, place))
        self.builder.complaints.clear()
        return head is not None

    def _head(self, line: Line, start: str, place: Place, odd: str | None) -> _Read:
        if odd == rules.FOREIGN_NUMBER.code:
            return self._with_own_numbers(line, start)
        read = self._parse(line, start)
        if read is None:
            if odd is not None:
                return broken(line, start), False, (), 0
            from sequencer.language.syntax import explain  # what only a broken line needs is loaded with the first

            return self._report(line, start, place, explain(line, start, self.engine.refusal(line.text, start)))
        stray = self._stray(line, start) if may_stray(read[0]) else None
        if stray is None:
            return read
        from sequencer.language.syntax import explain_stray

        return self._report(line, start, place, explain_stray(stray, start, line))

    def _with_own_numbers(self, line: Line, start: str) -> _Read:
        """A line with foreign numbers, which are told already."""
        from sequencer.language.repairs import own_numbers

        read = self._parse(own_numbers(line), start)
        return (broken(line, start), False, (), 0) if read is None else (read[0], True, (), 0)

    def _stray(self, line: Line, start: str) -> Stray | None:
        self._prepare(line.text)
        stray = find_stray(self.engine.quick.tokens(line.text, start), start)
        self.builder.complaints.clear()
        return stray

    def _parse(self, line: Line, start: str) -> _Read | None:
        self.builder.line = line
        # What a line complained of that then could not be read belongs to no other line.
        self.builder.complaints.clear()
        head: Any = self.engine.quick.read(line.text, start)
        if head is None:
            self.builder.complaints.clear()
            return None
        findings = tuple(
            rules.SYNTAX.at(span, f"{sentence[0].upper()}{sentence[1:]}.")
            for span, sentence in self.builder.complaints
        )
        self.builder.complaints.clear()
        return head, False, findings, 0

    def _report(self, line: Line, start: str, place: Place, fault: Fault) -> _Read:
        from sequencer.language.repairs import find_repairs

        self.builder.complaints.clear()
        before = self.patience.left
        due = partial(_start_of_text, line, place)
        search = partial(find_repairs, line, start, due, self.engine.lark, self._prepare, self.patience)
        repairs = (*self._meant(line, place, fault), *(search() if fault.mendable else ()))
        tried = before - self.patience.left
        self.builder.complaints.clear()
        if fault.rule.code == NO_UNIT.code:
            repairs = tuple(repair for repair in repairs if repair.text.strip() in UNITS) or repairs
        mends = tuple(Mend(r.title, (Edit(line.span(r.begin, r.end), r.text),), r.safe) for r in repairs)
        finding = fault.rule.at(line.span(fault.begin, fault.end), fault.message, mends=mends[:3])
        if not repairs:
            return broken(line, start), False, (finding,), tried
        self.builder.line = repairs[0].applied_to(line)
        head: Any = self.engine.lark.parse(self.builder.line.text, start=repairs[0].start)
        self.builder.complaints.clear()
        return head, True, (finding,), tried

    def _meant(self, line: Line, place: Place, fault: Fault) -> tuple[Repair, ...]:
        """What was surely meant, where the line then reads."""
        if fault.meant is None:
            return ()
        changed = fault.meant.applied_to(line)
        repair = replace(fault.meant, start=start_of(changed, place))
        return (repair,) if self._reads(changed, place) else ()

    def _prepare(self, text: str) -> None:
        """The builder is about to be asked for a line that is only tried."""
        self.builder.line = Line("", 1, "", text, ((0, 1, 1),))
        self.builder.complaints.clear()

    def _no_colon(self, line: Line) -> None:
        place = line.span(len(line.text), len(line.text))
        mend = Mend("put a colon at the end", (Edit(place, ":"),), safe=True)
        message = "A colon is missing here: lines of this part stand below."
        self.findings.append(rules.MISSING_COLON.at(place, message, mends=(mend,)))

    def _no_block(self, line: Line, start: str) -> None:
        child = line.block[0]
        label = Label(line.whole, "this line opens no block")
        message = f"This line is indented deeper than line {line.number}, which opens no block."
        edit = Edit(child.before, line.indent)
        mend = Mend(f"indent it as line {line.number}", (edit,))
        self.findings.append(rules.NO_BLOCK.at(child.whole, message, mends=(mend,), labels=(label,)))


def _start_of_text(line: Line, place: Place, text: str) -> str:
    return start_of(replace(line, text=text), place)


def start_of(line: Line, place: Place) -> str:
    """The kind of line that is due here, by its place and first word."""
    first = _FIRST_WORD.match(line.text)[0]  # type: ignore[index]
    if place is Place.FILE:
        return FIRST_WORDS.get(first, "part_line")
    if place is Place.PART:
        if first in IN_PART:
            return FIRST_WORDS[first]
        if first in POLICIES:
            return "policy_line"
        # A part has no lines that start like a cue; read as one, its fault is only that it stands here.
        if _LIKE_A_CUE.match(line.text) and (not line.block or _OPENS_CUES.search(line.text)):
            return "cue_line"
        return "part_line" if line.block or has_colon(line.text) else "phrases_line"
    if place is Place.SCARE and first in POLICIES:
        return "policy_line"
    if place in (Place.SCARE, Place.CUES):
        return "otherwise_line" if first == "otherwise" else "cue_line"
    if place is Place.ARMS:
        return "arm_line"
    return "phrases_line"


def _place_below(head: tree.Head, start: str) -> Place | None:
    """What the lines below this one are, or None where it opens no block."""
    if isinstance(head, tree.Cue):
        if head.block is None:
            return None
        return Place.ARMS if isinstance(head.block, tree.PickOne) else Place.CUES
    # A repaired line may have become one of another kind.
    return _BELOW.get(type(head)) if type(head) in _BELOW else _OPENS.get(start)
