"""Text -> logical lines in a tree of blocks. Knows indentation, comments and characters; nothing of grammar.

A logical line is one physical line, or several where each but the last ends in a comma. A comma before what can
only be a line of its own is reported and taken for a slip. Odd characters that look like plain ones (no-break spaces,
curly quotes, long dashes) are reported and read as what they look like.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field

from sequencer.findings import Edit, Finding, Label, Mend, Span
from sequencer.language import rules
from sequencer.language.foreign import foreign_numbers, may_be_foreign

LONGEST_LINE = 2_000
LARGEST_FILE = 2_000_000
ENOUGH_TO_REFUSE = LARGEST_FILE + 1
"""So many bytes of a file show that it is too large; no more of it is ever read."""
DEEPEST_BLOCK = 16
_TAB = "    "

_PLAIN = str.maketrans({
    "\u00a0": " ", "\u2007": " ", "\u202f": " ", "\u3000": " ", "\u2009": " ",
    "\u201c": '"', "\u201d": '"', "\u201e": '"', "\u2033": '"', "\u2018": "'", "\u2019": "'",
    "\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2010": "-", "\u2011": "-", "\uff1a": ":", "\uff0c": ",",
})
BREAK = re.compile(r"\r\n|\n|\r")
_GOES_ON_WITH_A_COLON = re.compile(r"or\s+after\b|at\s+most\b")
_LINE_WITHOUT_A_COLON = re.compile(r'(?:show|use)\s*"|let\s+\w+\s*=|at\s+most\s+\d+\s+of\b')


@dataclass(slots=True)
class Line:
    """One logical line: `text` without indent and comment; lines below it that are indented deeper.

    `starts` maps offsets in `text` to places: (offset, line, column), ascending.
    """

    file: str
    number: int
    indent: str
    text: str
    starts: tuple[tuple[int, int, int], ...]
    block: list[Line] = field(default_factory=list)

    def span(self, start: int, end: int) -> Span:
        """The place of `text[start:end]`."""
        if len(self.starts) == 1:
            _, number, column = self.starts[0]
            return Span(self.file, number, column + start, number, column + end)
        line, column = self._place(start)
        end_line, end_column = self._place(end)
        return Span(self.file, line, column, end_line, end_column)

    @property
    def whole(self) -> Span:
        return self.span(0, len(self.text))

    @property
    def before(self) -> Span:
        """The place of the indent as it stands in the file."""
        return Span(self.file, self.number, 1, self.number, self.starts[0][2])

    @property
    def goes_on(self) -> bool:
        """Whether the line below belongs to it."""
        return self.text.endswith(",") and len(self.text) <= LONGEST_LINE

    def _place(self, offset: int) -> tuple[int, int]:
        best = self.starts[0]
        for row in self.starts:
            if row[0] > offset:
                break
            best = row
        return best[1], best[2] + offset - best[0]


def decode(data: bytes, file: str) -> tuple[str | None, tuple[Finding, ...]]:
    """Bytes -> text, or the one finding that says why there is none."""
    here = Span(file, 1, 1, 1, 1)
    if len(data) > LARGEST_FILE:
        return None, (rules.TOO_LARGE.at(here, "This file has more than 2 MB, which is the most a show has."),)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (rules.NOT_TEXT.at(here, "This file is UTF-16 text. Save it as UTF-8."),)
    if b"\0" in data:
        return None, (rules.NOT_TEXT.at(here, "This is not a text file: it holds zero bytes."),)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError as bad:
        line = data.count(b"\n", 0, bad.start) + 1
        message = f"This file is not UTF-8 text: byte {bad.start + 1} (0x{data[bad.start]:02X}) on line {line}."
        return None, (rules.NOT_TEXT.at(here, message + " Save it as UTF-8."),)


def read_lines(text: str, file: str) -> tuple[list[Line], tuple[Finding, ...]]:
    """The lines of a file as a forest of blocks."""
    forest, findings = lines_from(text, file, 1)
    if not forest and not findings:
        findings = (rules.EMPTY.at(Span(file, 1, 1, 1, 1), "This file holds no line of a show."),)
    return forest, findings


def lines_from(text: str, file: str, first: int) -> tuple[list[Line], tuple[Finding, ...]]:
    """The lines of a piece of a file, whose first line has that number in it."""
    findings: list[Finding] = []
    logical = list(_logical(text, file, first, findings))
    return _forest(logical, findings), tuple(findings)


def _logical(text: str, file: str, first: int, findings: list[Finding]) -> Iterator[Line]:
    """Physical lines without comments, joined where one ends in a comma."""
    held: Line | None = None
    for number, raw in enumerate(BREAK.split(text), first):
        if len(raw) > LONGEST_LINE:
            message = f"This line has {len(raw):,} characters; a line has at most {LONGEST_LINE:,}."
            findings.append(rules.TOO_LARGE.at(Span(file, number, 1, number, 1), message))
            continue
        plain = raw if raw.isascii() else _plain(raw, file, number, findings)
        if may_be_foreign(plain):
            findings += _foreign_numbers(plain, file, number)
        body = strip_comment(plain).rstrip()
        stripped = body.lstrip(" \t")
        if not stripped:
            continue
        column = len(body) - len(stripped) + 1
        if held is not None and _width(body[: column - 1]) <= _width(held.indent) and _of_its_own(stripped):
            findings += _without_its_comma(held, number)
            yield held
            held = None
        if held is not None:
            offset = len(held.text) + 1
            held.text = f"{held.text}\n{stripped}"
            held.starts += ((offset, number, column),)
        else:
            held = Line(file, number, body[: column - 1], stripped, ((0, number, column),))
        if not held.goes_on:
            yield held
            held = None
    if held is not None:
        yield held


def has_colon(text: str) -> bool:
    """A colon outside quotes that is not part of a time of day."""
    bare = "".join(text.split('"')[::2]) if '"' in text else text
    return any(
        character == ":" and not bare[index + 1 : index + 3].isdigit() for index, character in enumerate(bare)
    )


def _of_its_own(text: str) -> bool:
    """Whether no line can go on with this text: of all that goes on after a comma, two forms have a colon."""
    if has_colon(text):
        return _GOES_ON_WITH_A_COLON.match(text) is None
    return _LINE_WITHOUT_A_COLON.match(text) is not None


def _without_its_comma(line: Line, below: int) -> Iterator[Finding]:
    """Takes the comma from the end of the line, and says so; where nothing else is there, the line stays as it is."""
    comma = line.text.rindex(",")
    place = line.span(comma, comma + 1)
    rest = line.text[:comma].rstrip()
    if rest:
        line.text = rest
        yield stray_comma(place, below)


def stray_comma(place: Span, below: int) -> Finding:
    mend = Mend("take out the comma", (Edit(place, ""),))
    message = f"This comma joins the line to line {below}, which is a line of its own."
    return rules.SYNTAX.at(place, message, mends=(mend,))


def strip_comment(line: str) -> str:
    """The line without its comment; a `#` inside quotes starts none."""
    if "#" not in line:
        return line
    quoted = False
    for index, character in enumerate(line):
        if character == '"':
            quoted = not quoted
        elif character == "#" and not quoted:
            return line[:index]
    # An open quote must not swallow the comment: without its closing quote the text ends at the `#`.
    return line[: line.index("#")] if quoted and line.count('"') == 1 and '"' in line[: line.index("#")] else line


def _plain(raw: str, file: str, number: int, findings: list[Finding]) -> str:
    """Reads characters that look like plain ones as those; what stands in quotes stays as it is."""
    plain: list[str] = []
    closers = ""
    for index, character in enumerate(raw):
        if closers and character not in closers:
            plain.append(character)
            continue
        if character == "#":
            break
        looks = _PLAIN.get(ord(character), character)
        if looks == '"':
            closers = "" if closers else '"' if character == '"' else '"\u201c\u201d\u2033'
        if looks != character or not (character.isascii() or character.isalnum()):
            findings.append(_odd(character, looks, Span(file, number, index + 1, number, index + 2)))
        plain.append(looks)
    return "".join(plain)


def _foreign_numbers(plain: str, file: str, number: int) -> Iterator[Finding]:
    """`0,5 s`, `.5 s` and `12"`: a comma parts phrases here, a quote opens a text, a number starts with a digit."""
    for at, meant in foreign_numbers(strip_comment(plain)):
        span = Span(file, number, at + 1, number, at + 2)
        if plain[at] == ",":
            mend = Mend("write a point", (Edit(span, meant),), safe=True)
            yield rules.FOREIGN_NUMBER.at(span, "A number has a decimal point, not a comma.", mends=(mend,))
        elif plain[at] == ".":
            mend = Mend("put a zero before the point", (Edit(span, meant),), safe=True)
            yield rules.FOREIGN_NUMBER.at(span, "A number starts with a digit, not with its point.", mends=(mend,))
        else:
            mend = Mend("write ` in`", (Edit(span, meant),))
            yield rules.FOREIGN_NUMBER.at(span, "Inches are written `in`; a quote opens a text.", mends=(mend,))


def _odd(character: str, plain: str, span: Span) -> Finding:
    name = unicodedata.name(character, f"U+{ord(character):04X}").lower()
    if plain != character:
        mend = Mend(f"write {plain!r}", (Edit(span, plain),), safe=True)
        return rules.ODD_CHARACTER.at(span, f"This is a {name}, not {plain!r}.", mends=(mend,))
    mend = Mend("take it out", (Edit(span, ""),))
    return rules.ODD_CHARACTER.at(span, f"A {name} has no meaning here.", mends=(mend,))


def _width(indent: str) -> int:
    return len(indent.replace("\t", _TAB))


def _forest(lines: list[Line], findings: list[Finding]) -> list[Line]:
    """Hangs each line under the nearest line above that is indented less."""
    roots: list[Line] = []
    path: list[Line] = []
    findings += _one_indent(lines)
    for line in lines:
        width = len(line.indent)
        closed: Line | None = None
        while path and len(path[-1].indent) >= width:
            closed = path.pop()
        siblings = path[-1].block if path else roots
        if closed is not None and len(closed.indent) != width and siblings:
            findings.append(_between_levels(line, siblings[-1]))
        if len(path) >= DEEPEST_BLOCK:
            if len(path) == DEEPEST_BLOCK and not any(f.code == rules.TOO_DEEP.code for f in findings):
                message = f"Blocks stand {DEEPEST_BLOCK + 1} deep here; {DEEPEST_BLOCK} is the most."
                findings.append(rules.TOO_DEEP.at(line.whole, message))
            continue
        siblings.append(line)
        path.append(line)
    return roots


def _one_indent(lines: list[Line]) -> Iterator[Finding]:
    """Holds a file to tabs or to spaces, whichever more of its lines have, and says so once.

    The other lines are read with a tab as four spaces, so that the lines around them are still understood.
    """
    indented = [line for line in lines if line.indent]
    tabbed = [line for line in indented if "\t" in line.indent]
    if not tabbed or all(set(line.indent) == {"\t"} for line in indented):
        return
    tabs_win = 2 * sum(set(line.indent) == {"\t"} for line in tabbed) > len(indented)
    odd = [line for line in indented if set(line.indent) != {"\t"}] if tabs_win else tabbed
    edits = []
    for line in indented:
        spaces = line.indent.replace("\t", _TAB)
        meant = "\t" * (len(spaces) // len(_TAB)) if tabs_win else spaces
        if meant != line.indent:
            edits.append(Edit(line.before, meant))
            line.indent = meant
    due, other = ("tabs", "spaces") if tabs_win else ("spaces", "tabs")
    rest = [line for line in indented if line not in odd]
    lines_say = "1 line is" if len(odd) == 1 else f"{len(odd)} lines are"
    message = f"{lines_say} indented with {other}, the other {len(rest)} with {due}; this is the first."
    if not rest:
        message = "This is indented with tabs and spaces in one; a file has one of the two."
    mend = Mend(f"indent all with {due}, a tab for four spaces", tuple(edits))
    labels = [Label(line.whole, f"indented with {due}") for line in rest[:1]]
    yield rules.MIXED_INDENT.at(odd[0].before, message, labels=labels, mends=(mend,) if edits else ())


def _between_levels(line: Line, sibling: Line) -> Finding:
    mend = Mend(f"indent it as line {sibling.number}", (Edit(line.before, sibling.indent),))
    message = (f"This line is indented by {len(line.indent)}, which fits no line above; "
               f"line {sibling.number} is indented by {len(sibling.indent)}.")
    label = Label(sibling.whole, "the nearest line above")
    return rules.INDENT.at(line.before, message, mends=(mend,), labels=(label,))
