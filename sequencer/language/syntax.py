"""What to say of a line that does not parse, and which single change would make it parse.

Repairs are searched, not guessed: each is one small edit at or before the place where reading stuck (a word
taken out, put in, replaced by one near to it, or swapped with its neighbour), and only those that make the
whole line readable are offered, the likeliest slip first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lark import Token, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from sequencer.findings import Rule, closest
from sequencer.language import rules
from sequencer.language.lines import Line

Reads = Callable[[str, str], bool]

_WORD = re.compile(r'"[^"]*"|[^\W\d]\w*(?:\.[^\W\d]\w*)*|\d[\d./-]*|%|\S')
_HUMAN = {
    "WORD": "a name", "NUMBER": "a number", "QUANTITY": "a quantity with its unit", "STRING": 'a text in "quotes"',
    "CLOCK": "a time of day", "ORDINAL": "a count such as `3rd`", "$END": "the end of the line",
    "COLON": "`:`", "COMMA": "`,`", "PLUS": "`+`", "EQUAL": "`=`",
}
_KEYWORDS = (
    "show use let night scare idle gesture never at stop alarm like on every to of with and or trips clears while "
    "running tripped ignore restart once more rest rank then when after repeat times for until most pick one if "
    "clear run otherwise fewer than between extending"
).split()


@dataclass(frozen=True, slots=True)
class Fault:
    rule: Rule
    begin: int
    end: int
    message: str


@dataclass(frozen=True, slots=True)
class Repair:
    """Replace `text[begin:end]` by `text`; the line then reads as a line of kind `start`."""

    title: str
    begin: int
    end: int
    text: str
    start: str
    safe: bool = False

    def applied(self, line: str) -> str:
        return line[: self.begin] + self.text + line[self.end :]

    def applied_to(self, line: Line) -> Line:
        """The line as mended, every character still at its place in the file; new ones at the place of the mend."""
        grown = self.begin + len(self.text) - self.end
        starts = [row for row in line.starts if row[0] < self.begin]
        for index in range(len(self.text) + 1):
            place = line.span(min(self.begin + index, self.end), self.end)
            starts.append((self.begin + index, place.line, place.column))
        starts += [(offset + grown, number, column) for offset, number, column in line.starts if offset > self.end]
        return Line(line.file, line.number, line.indent, self.applied(line.text), tuple(starts))


def explain(line: Line, start: str, error: UnexpectedInput) -> Fault:
    """The place where reading stuck and a sentence about it."""
    begin, end, expected = _stuck_at(line.text, error)
    found = line.text[begin:end]
    before = line.text[:begin].rstrip()
    if line.text.count('"') % 2 and begin >= line.text.rfind('"'):
        opened = line.text.rfind('"')
        return Fault(rules.OPEN_QUOTE, opened, len(line.text), "These quotes do not close before the line ends.")
    wanted = _wanted(expected)
    after = f"after `{_last_words(before)}` " if before else ""
    if "COLON" in expected and not found:
        return Fault(rules.MISSING_COLON, begin, end, f"A colon is missing {after}here.".replace("  ", " "))
    if not found:
        return Fault(rules.SYNTAX, begin, end, f"The line ends too early: {after}comes {wanted}.")
    return Fault(rules.SYNTAX, begin, end, f"`{found}` cannot stand here: {after}comes {wanted}.")


def _stuck_at(text: str, error: UnexpectedInput) -> tuple[int, int, set[str]]:
    if isinstance(error, UnexpectedToken):
        token: Token = error.token
        expected = set(error.accepts or error.expected or ())
        if token.type == "$END":
            return len(text), len(text), expected
        assert token.start_pos is not None and token.end_pos is not None
        return token.start_pos, token.end_pos, expected
    if isinstance(error, UnexpectedCharacters):
        begin = error.pos_in_stream or 0
        match = _WORD.match(text, begin)
        return begin, match.end() if match else begin + 1, set(error.allowed or ())
    return len(text), len(text), set()


def _wanted(expected: set[str]) -> str:
    words = sorted({_HUMAN.get(name, f"`{name.lower()}`") for name in expected if not name.startswith("__")})
    if not words:
        return "something else"
    if len(words) > 6:
        words = [*words[:6], "more"]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _last_words(before: str) -> str:
    return " ".join(before.split()[-2:])


def repairs(line: Line, start: str, at_top: bool, error: UnexpectedInput, reads: Reads) -> tuple[Repair, ...]:
    """Single changes that make the line readable, likeliest first; at most five."""
    begin, _, expected = _stuck_at(line.text, error)
    found: list[Repair] = []
    seen: set[str] = set()
    for repair in _candidates(line.text, start, begin, expected, bool(line.block)):
        changed = repair.applied(line.text)
        if changed in seen:
            continue
        seen.add(changed)
        if reads(changed, repair.start):
            found.append(repair)
            if len(found) == 5:
                break
    return tuple(found)


def _candidates(text: str, start: str, stuck: int, expected: set[str], block: bool) -> Iterator[Repair]:
    words = [(m.start(), m.end()) for m in _WORD.finditer(text)]
    near = [(b, e) for b, e in words if b <= stuck]
    yield from _doubled(text, words, start)
    yield from _colon(text, start, block)
    yield from _misspelt(text, near[-3:], expected, start)
    yield from _swapped(text, near, start)
    yield from _missing(text, stuck, near, expected, start)
    yield from _superfluous(text, near, start)


def _doubled(text: str, words: list[tuple[int, int]], start: str) -> Iterator[Repair]:
    for (b1, e1), (b2, e2) in zip(words, words[1:], strict=False):
        if text[b1:e1] == text[b2:e2]:
            yield Repair(f"take out the second `{text[b2:e2]}`", e1, e2, "", start, safe=True)


def _colon(text: str, start: str, block: bool) -> Iterator[Repair]:
    if start not in ("phrases_line", "at_most_line", "show_line", "use_line", "let_line", "policy_line"):
        if block and not text.endswith(":"):
            yield Repair("put a colon at the end", len(text), len(text), ":", start, safe=True)
        for match in re.finditer(r"(?<=\S)\s+", text):
            yield Repair(f"put a colon after `{text[:match.start()].split()[-1]}`", match.start(), match.start(),
                         ":", start)


def _misspelt(text: str, near: list[tuple[int, int]], expected: set[str], start: str) -> Iterator[Repair]:
    wanted = [name.lower() for name in expected if name.lower() in _KEYWORDS]
    for begin, end in reversed(near):
        word = text[begin:end]
        for choice in (*closest(word, wanted, 2), *closest(word, _KEYWORDS, 2)):
            if choice != word:
                yield Repair(f"write `{choice}`", begin, end, choice, start, safe=len(word) > 3)


def _swapped(text: str, near: list[tuple[int, int]], start: str) -> Iterator[Repair]:
    for (b1, e1), (b2, e2) in reversed(list(zip(near, near[1:], strict=False))):
        swapped = text[b2:e2] + text[e1:b2] + text[b1:e1]
        yield Repair(f"write `{swapped}`", b1, e2, swapped, start)


def _missing(
    text: str, stuck: int, near: list[tuple[int, int]], expected: set[str], start: str
) -> Iterator[Repair]:
    places = [stuck, *(begin for begin, _ in reversed(near))]
    fixed = [name.lower() for name in sorted(expected) if name.lower() in _KEYWORDS]
    signs = {"COLON": ":", "COMMA": ",", "PLUS": "+", "EQUAL": "="}
    for place in dict.fromkeys(places):
        for word in (*(signs[name] for name in sorted(expected) if name in signs), *fixed, *_FILLERS.get(start, ())):
            gap = "" if place == 0 or text[place - 1].isspace() or word in ":,+" else " "
            tail = "" if place >= len(text) or text[place].isspace() or word == "+" else " "
            yield Repair(f"put in `{word}`", place, place, f"{gap}{word}{tail}", start)


_FILLERS = {
    "cue_line": ("to", "every", "at", "most", "or", "after", "times", "for", "until", ":", ",", "+"),
    "scare_line": ("on", "every", "to", "or", "trips", ":"),
    "policy_line": ("running", "while", "tripped", "more"),
    "gesture_line": ("of", "with", "and", ":"),
    "never_line": (":", "while", "fewer", "than", "between", "and"),
    "at_most_line": ("at", "most", "of", ",", "extending"),
    "stop_line": ("on", "trips", ":", "or"),
    "part_line": ("like", ":", ","),
    "arm_line": ("of", ":"),
    "night_line": (":", ","),
}


def _superfluous(text: str, near: list[tuple[int, int]], start: str) -> Iterator[Repair]:
    for begin, end in reversed(near):
        yield Repair(f"take out `{text[begin:end]}`", begin, end, "", start)
