"""What to say of a line that does not parse. What would mend it is found in `repairs`."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lark import Token, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from sequencer.findings import Rule
from sequencer.language import rules
from sequencer.language.lines import Line

_WORD = re.compile(r'"[^"]*"|[^\W\d]\w*(?:\.[^\W\d]\w*)*|\d[\d./-]*|%|\S')
_HUMAN = {
    "WORD": "a name", "NUMBER": "a number", "QUANTITY": "a quantity with its unit", "STRING": 'a text in "quotes"',
    "CLOCK": "a time of day", "ORDINAL": "a count such as `3rd`", "$END": "the end of the line",
    "COLON": "`:`", "COMMA": "`,`", "PLUS": "`+`", "EQUAL": "`=`",
}


@dataclass(frozen=True, slots=True)
class Fault:
    rule: Rule
    begin: int
    end: int
    message: str


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
