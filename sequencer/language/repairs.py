"""A line that does not parse -> the single changes that would make it parse, the likeliest slip first.

Repairs are searched, not guessed: every small change near the place where reading stuck is tried (a word taken
out, put in, replaced by one that may stand there, or swapped with its neighbour) and only what makes the whole
line readable is offered. How likely each kind of slip is was ordered by measuring, see `tests/bench`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from lark import Lark, Token, UnexpectedInput

from sequencer.findings import closest, edit_distance
from sequencer.frozen import frozen
from sequencer.language.foreign import foreign_numbers
from sequencer.language.lines import Line
from sequencer.language.patience import Patience
from sequencer.language.strays import WITH_ACTIONS, find_stray, fits_a_verb, parted, phrases_of, words_of_parts
from sequencer.units import UNITS

PIECE = re.compile(r'"[^"\n]*"|\d+(?:st|nd|rd|th)(?!\w)|\d+-\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|[^\W\d]\w*(?:[./]\w+)*|\S')
SIGNS = {"COLON": ":", "COMMA": ",", "PLUS": "+", "EQUAL": "="}
FIRST_WORDS = (
    "show", "use", "let", "night", "scare", "idle", "gesture", "never", "at", "stop", "alarm", "while", "rest", "rank",
    "then", "when", "otherwise",
)
# Values and names: what was meant by one that is missing cannot be known.
_OPEN = frozenset({"WORD", "NUMBER", "QUANTITY", "STRING", "CLOCK", "ORDINAL", "$END"})
# Words that open or join things; where a mended line would have one as a name, something else was meant.
_NEVER_NAMES = frozenset(
    "repeat pick if otherwise then show use let night scare idle gesture never alarm trips clears running fewer than "
    "between until every".split()
)
_NOT_IN_HEADS = _NEVER_NAMES | frozenset(
    "to of with or and at for most after when while times rest rank running ignore restart once more arming".split()
)
# Of two that may stand in one place, the one that is written less often.
_RARER = ("CLEARS", "CLEAR")
# Words that do not end a phrase, and words that no bare number follows.
_JOINING = frozenset(("at", "for", "over", "to", "of", "from", "with", "and", "while"))
_NO_NUMBER_AFTER = frozenset(("on", "from"))
_TIMES = frozenset(("ms", "s", "min", "h"))
_WITHOUT_COLON = ("phrases_line", "at_most_line", "show_line", "use_line", "let_line", "policy_line")
# Missing at the start of a line these can be told from what follows; a missing `scare` or kind of part cannot.
_MISSED = tuple(word for word in FIRST_WORDS if word not in ("scare", "idle", "night"))
_MOST_COST = 6.6
_MOST_OFFERED = 3

Due = Callable[[str], str]


@frozen
class Repair:
    """Replace `text[begin:end]` by `text`; the line then reads as a line of kind `start`. Lower costs are likelier."""

    title: str
    begin: int
    end: int
    text: str
    cost: float
    sure: bool = False
    start: str = ""
    safe: bool = False

    def applied(self, line: str) -> str:
        return line[: self.begin] + self.text + line[self.end :]

    def applied_to(self, line: Line) -> Line:
        """The line as mended, every character still at its place in the file; new ones at the place of the mend."""
        grown = self.begin + len(self.text) - self.end
        starts = [row for row in line.starts if row[0] < self.begin]
        for index in range(len(self.text)):
            place = line.span(min(self.begin + index, self.end), self.end)
            starts.append((self.begin + index, place.line, place.column))
        after = line.span(self.end, self.end)
        starts.append((self.begin + len(self.text), after.line, after.column))
        starts += [(offset + grown, number, column) for offset, number, column in line.starts if offset > self.end]
        return Line(line.file, line.number, line.indent, self.applied(line.text), tuple(starts))


@dataclass(slots=True)
class Trace:
    """How far a line was read: its tokens, what could have stood at each, and where reading stuck (None: nowhere)."""

    tokens: list[Token] = field(default_factory=list)
    choices: dict[int, frozenset[str]] = field(default_factory=dict)
    stuck: int | None = None


def trace(parser: Lark, text: str, start: str, *, with_choices: bool = False) -> Trace:
    """Reads a line step by step. The builder behind the parser must have been given the line."""
    found = Trace()
    steps = parser.parse_interactive(text, start=start)
    try:
        for token in steps.iter_parse():
            if with_choices:
                found.choices[token.start_pos or 0] = frozenset(steps.choices())
            found.tokens.append(token)
        if with_choices:
            found.choices[len(text)] = frozenset(steps.choices())
        steps.feed_eof()
    except UnexpectedInput as error:
        token = getattr(error, "token", None)
        at_end = error.pos_in_stream is None or (isinstance(token, Token) and token.type == "$END")
        stuck = len(text) if at_end else error.pos_in_stream
        found.stuck = stuck
        if with_choices:
            found.choices[stuck] = frozenset(steps.choices())
    return found


def find_repairs(
    line: Line, start: str, due: Due, parser: Lark, prepare: Callable[[str], None], patience: Patience
) -> tuple[Repair, ...]:
    """The likeliest single changes that make the line readable, at most three, as far as patience goes.

    `due` says what kind of line a text would be at this place; `prepare` is told each text before it is tried.
    """
    left = patience.of_a_line()
    if not left:
        return ()
    prepare(line.text)
    seen = trace(parser, line.text, start, with_choices=True)
    stray = find_stray(seen.tokens, start) if seen.stuck is None else None
    if stray is not None:
        seen.stuck = stray.begin
    search = _Search(line.text, start, bool(line.block), seen)
    found: list[tuple[float, Repair]] = []
    tried: set[str] = set()
    for repair in sorted(search.candidates(), key=lambda r: r.cost):
        changed = repair.applied(line.text)
        words = " ".join(PIECE.findall(changed))
        if words in tried or not changed.strip():
            continue
        tried.add(words)
        if len(changed) > left:
            break
        left -= len(changed)
        patience.left -= len(changed)
        if len(found) >= _MOST_OFFERED and repair.cost > found[_MOST_OFFERED - 1][0]:
            break
        kind = due(changed.strip())
        prepare(changed)
        result = trace(parser, changed, kind)
        if result.stuck is None and find_stray(result.tokens, kind) is None:
            cost = repair.cost + _oddness(result.tokens, kind, bool(line.block)) + _unfit(result.tokens, kind, repair)
            if cost <= _MOST_COST:
                found.append((cost, _as_start(repair, kind)))
                found.sort(key=lambda row: row[0])
    return _graded(found)


def own_numbers(line: Line) -> Line:
    """The line with numbers written as elsewhere, `0,5 s`, written as here."""
    for at, meant in reversed(list(foreign_numbers(line.text))):
        line = Repair("", at, at + 1, meant, 0).applied_to(line)
    return line


def _as_start(repair: Repair, start: str) -> Repair:
    return Repair(repair.title, repair.begin, repair.end, repair.text, repair.cost, repair.sure, start)


def _graded(found: list[tuple[float, Repair]]) -> tuple[Repair, ...]:
    """Marks the first as safe where it is of a kind that is always right and nothing else comes near it."""
    if not found:
        return ()
    cost, first = found[0]
    alone = len(found) == 1 or found[1][0] >= cost + 1.5
    if first.sure and alone and cost == first.cost:
        first = Repair(first.title, first.begin, first.end, first.text, first.cost, True, first.start, safe=True)
    return (first, *(repair for _, repair in found[1:_MOST_OFFERED]))


def _oddness(tokens: list[Token], start: str, block: bool) -> float:
    """What speaks against a reading: words of the language that would be names, phrases that no part knows."""
    head, tail = parted(tokens, start)
    strict = _NEVER_NAMES if start == "part_line" else _NOT_IN_HEADS
    odd = sum(3.0 for token in head if token.type == "WORD" and (token in strict or token in _TIMES))
    odd += sum(3.0 for token in tail if token.type == "WORD" and (token in _NEVER_NAMES or token in _TIMES))
    if start == "part_line":
        odd += sum(3.0 for token in head[:2] if token in _NOT_IN_HEADS or token in FIRST_WORDS)
        odd += 0.0 if head[0] in words_of_parts().kinds else 4.0
        odd += 2.0 if not tail and not block and "like" not in head else 0.0
    elif start == "cue_line" and not tail and not block:
        odd += 2.0
    odd += sum(1.5 for phrase in phrases_of(tail) if phrase and phrase[-1] in _JOINING)
    no_number = _NO_NUMBER_AFTER | words_of_parts().verbs - {"of"}
    odd += sum(2.0 for one, other in pairwise(tokens) if other.type == "NUMBER" and one in no_number)
    return odd + 1.6 * sum(not _known(phrase, start) for phrase in phrases_of(tail))


def _unfit(tokens: list[Token], start: str, repair: Repair) -> float:
    """What speaks against a change: an action that it leaves in no order that a part knows."""
    if start not in WITH_ACTIONS:
        return 0.0
    begin, end = repair.begin, repair.begin + len(repair.text)
    for phrase in phrases_of(parted(tokens, start)[1]):
        if phrase and phrase[0].type != "WORD":
            return 3.0
        changed = phrase and (phrase[0].start_pos or 0) <= end and begin <= (phrase[-1].end_pos or 0)
        if changed and _known(phrase, start) and not fits_a_verb(phrase):
            return 2.6
    return 0.0


def _known(phrase: list[Token], start: str) -> bool:
    """Whether a phrase starts as some part's property does, or says something that some part can do."""
    words = words_of_parts()
    acts = len(phrase) > 1 and phrase[1] in words.verbs and phrase[0].type == "WORD"
    if start in WITH_ACTIONS:
        return acts
    if start in ("part_line", "phrases_line"):
        return phrase[0] in words.properties or acts
    return True


def _gap(before: str, behind: str) -> str:
    return "" if not before or not behind or behind in ",:" or before == "+" else " "


def _is_sign(piece: str) -> bool:
    return not (piece[0].isalnum() or piece[0] in '"_')


class _Search:
    """The changes worth trying on one line."""

    def __init__(self, text: str, start: str, block: bool, seen: Trace) -> None:
        self.text, self.start, self.block, self.seen = text, start, block, seen
        self.stuck = seen.stuck if seen.stuck is not None else len(text)
        self.pieces = [(m.start(), m.end()) for m in PIECE.finditer(text)]
        # The piece at which reading stuck; the slip is there, before it, or a swap with the one behind it.
        self.at = next((i for i, (_, end) in enumerate(self.pieces) if end > self.stuck), len(self.pieces))

    def candidates(self) -> Iterator[Repair]:
        yield from self._time_before()
        yield from self._count_of_runs()
        yield from self._colon_at_end()
        yield from self._quotes()
        for index in range(min(self.at + 1, len(self.pieces))):
            far = min(self.at - index, 5) * 0.12
            yield from self._taken_out(index, far)
            yield from self._respelt(index, far)
            yield from self._swapped(index, far)
            yield from self._replaced(index, far)
        for index in range(self.at + 1):
            yield from self._put_in(index, min(self.at - index, 5) * 0.12)

    def _piece(self, index: int) -> str:
        return self.text[slice(*self.pieces[index])] if 0 <= index < len(self.pieces) else ""

    def _place(self, index: int) -> int:
        return self.pieces[index][0] if index < len(self.pieces) else len(self.text)

    def _fixed(self, place: int) -> list[str]:
        """Signs and words of the language that may stand at a place."""
        choices = sorted(self.seen.choices.get(place, frozenset()) - _OPEN, key=lambda name: (name in _RARER, name))
        return [SIGNS.get(name, name.lower()) for name in choices if name.isupper() and not name.startswith("_")]

    def _time_before(self) -> Iterator[Repair]:
        """A block without its time; where it stands first in its scare, `then` says the same as `0 s`."""
        if self.start == "cue_line" and self._piece(0) in ("repeat", "pick", "if"):
            yield Repair("put in `then:`", 0, 0, "then: ", 1.2)

    def _count_of_runs(self) -> Iterator[Repair]:
        """`every 3 run`."""
        number = self._piece(self.at)
        if number.isdecimal() and "ORDINAL" in self.seen.choices.get(self.stuck, ()):
            ending = "th" if number[-2:-1] == "1" else {"1": "st", "2": "nd", "3": "rd"}.get(number[-1], "th")
            begin, end = self.pieces[self.at]
            yield Repair(f"write `{number}{ending}`", begin, end, number + ending, 1.0)

    def _colon_at_end(self) -> Iterator[Repair]:
        if self.block and self.start not in _WITHOUT_COLON and not self.text.endswith(":"):
            yield Repair("put a colon at the end", len(self.text), len(self.text), ":", 1.0, sure=True)

    def _quotes(self) -> Iterator[Repair]:
        """A quote that does not close, or a title and a file name without any."""
        text = self.text
        open_rows = [row for row in re.finditer(r"[^\n]+", text) if row[0].count('"') % 2]
        for row in open_rows:
            end = row.start() + len(row[0].rstrip()) - (row[0].rstrip()[-1] in ":,")
            yield Repair("close the quotes", end, end, '"', 1.0)
        if open_rows:
            for begin, end in self.pieces[self.at :]:
                yield Repair("close the quotes", end, end, '"', 2.0 + begin / 1000)
        elif self.start in ("show_line", "use_line") and len(self.pieces) > 1 and '"' not in text:
            begin = self.pieces[1][0]
            title = text[begin:].strip("'").rstrip()
            yield Repair("put it in quotes", begin, len(text), f'"{title}"', 1.0)

    def _edit(
        self, title: str, begin: int, end: int, new: tuple[str, ...], cost: float, sure: bool = False
    ) -> Repair:
        """New pieces in the place of `pieces[begin:end]`, spaced as a line is.

        Where the line goes on below, its break stays, and with it the comment that may stand there.
        """
        first, last = self._place(begin), self.pieces[end - 1][1] if end > begin else self._place(begin)
        left, right = self.pieces[begin - 1][1] if begin else 0, self._place(end)
        before, behind = self._piece(begin - 1) if begin else "", self._piece(end)
        if "\n" in self.text[left:first]:
            left, before = first, ""
        if "\n" in self.text[last:right]:
            right, behind = max(last, left), ""
        text = ""
        for piece in new:
            text += _gap(before, piece) + piece
            before = piece
        return Repair(title, left, right, text + _gap(before, behind), cost, sure)

    def _taken_out(self, index: int, far: float) -> Iterator[Repair]:
        piece = self._piece(index)
        if _is_sign(piece) and piece not in ",:+=%-":
            yield self._edit(f"take out `{piece}`", index, index + 1, (), 0.5, sure=True)
        elif piece == self._piece(index - 1):
            # In the use of a gesture `and` may be missing between two parts that are the same.
            sure = piece != "," and self._piece(index - 2) not in ("of", "and")
            yield self._edit(f"take out the second `{piece}`", index, index + 1, (), 1.0, sure=sure)
        elif piece not in UNITS:
            # A unit without its number lacks the number; without the unit the line would say still less.
            yield self._edit(f"take out `{piece}`", index, index + 1, (), self._worth(index) + far)

    def _worth(self, index: int) -> float:
        """What it costs to take a piece out: a stray number little, a word of the language or a unit more."""
        piece, after = self._piece(index), self._piece(index + 1)
        if _is_sign(piece):
            return 4.6
        if piece == "at" and index == 0 and after[:1].isdigit():
            return 4.2
        if piece[0].isdigit():
            return 5.0 if after in UNITS or after in ("of", "times") else 4.2
        return 5.6 if piece in _NOT_IN_HEADS or piece in FIRST_WORDS else 5.0

    def _respelt(self, index: int, far: float) -> Iterator[Repair]:
        begin, end = self.pieces[index]
        word = self._piece(index)
        if not word[0].isalpha():
            return
        wanted = [fixed for fixed in self._fixed(begin) if fixed.isalpha()]
        if word == "of" and self.start in WITH_ACTIONS and not self._piece(index + 1):
            wanted.append("off")
        if index == 0 and word not in words_of_parts().kinds:
            wanted += FIRST_WORDS
        for choice in closest(word, wanted, 2):
            slips = edit_distance(word, choice, 3)
            if choice != word and slips <= max(1, len(word) // 3):
                # A word alone before its colon may as well be a name whose kind of part is missing.
                sure = len(word) > 3 and len(self.pieces) > 2
                yield Repair(f"write `{choice}`", begin, end, choice, 1.6 + slips * 0.5 + far / 4, sure)

    def _swapped(self, index: int, far: float) -> Iterator[Repair]:
        one, other = self._piece(index), self._piece(index + 1)
        if other and one != other:
            cost = 2.4 if _is_sign(one) and other in _TIMES else 3.0
            yield self._edit(f"write `{other}` before `{one}`", index, index + 2, (other, one), cost + far)

    def _replaced(self, index: int, far: float) -> Iterator[Repair]:
        piece = self._piece(index)
        fixed = self._fixed(self.pieces[index][0])
        for word in fixed:
            if word != piece and (word in SIGNS.values() or len(fixed) <= 6):
                cost = 2.2 if piece in ";." and word in ":," else 5.4 + far
                yield self._edit(f"write `{word}` for `{piece}`", index, index + 1, (word,), cost)

    def _put_in(self, index: int, far: float) -> Iterator[Repair]:
        firsts = _MISSED if index == 0 else ()
        units = tuple(self._unit(index))
        for word in dict.fromkeys((*self._fixed(self._place(index)), *units, *firsts)):
            sign = {":": "a colon", ",": "a comma"}.get(word)
            cost = 3.6 if sign else self._due(word, units)
            yield self._edit(f"put in {sign or f'`{word}`'}", index, index, (word,), cost + far)

    def _due(self, word: str, units: tuple[str, ...]) -> float:
        if word in units:
            return 2.6
        return 5.0 if word == "+" else 4.0

    def _unit(self, index: int) -> Iterator[str]:
        """A time may lack its unit: the one of another time in the line, else what such a number mostly is."""
        number = self._piece(index - 1) if index else ""
        choices = self.seen.choices.get(self._place(index), frozenset())
        if not number or not number[0].isdigit() or "WORD" not in choices or "NUMBER" in choices:
            return
        others = re.findall(r"\d\s*(ms|s|min|h)\b", self.text)
        guess = "ms" if number.isdigit() and len(number) >= 3 else "s"
        yield from dict.fromkeys([*others[:1], guess, "s", "ms"])
