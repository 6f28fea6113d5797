"""What to say of a line that does not parse. What would mend it is found in `repairs`."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lark import Token, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from sequencer.findings import Rule
from sequencer.language import rules
from sequencer.language.foreign import summed_time
from sequencer.language.lines import Line
from sequencer.language.name_rules import NO_UNIT
from sequencer.language.repairs import Repair
from sequencer.language.strays import Stray
from sequencer.units import UNITS

_WORD = re.compile(r'"[^"\n]*"|[^\W\d]\w*(?:\.[^\W\d]\w*)*|\d[\d./-]*|\S')
_SAID = re.compile(rf'"[^"\n]*"|\d\S*\s+(?:{"|".join(map(re.escape, UNITS))})(?!\w)\S*|\S+')
_EVERY = re.compile(r"\bevery\s+(\d\S*\s*\w+)\s*$")
_BARE = re.compile(r"(?<![\w./-])(?P<number>\d+(?:\.\d+)?)(?P<joint>\s+(?:every|to|or|between))?\s*$")
_WITHOUT_AN_END = (
    (re.compile(r"^when\s+\S+\s+(?:trips|clears)\s*:"),
     "A wait for a sensor has a bound, so that a torn wire cannot hold the scare; write how long at the most, such as "
     "`when ram_home trips, or after 2 s:`."),
    (re.compile(r":\s*repeat\s+until\s+\S+\s+(?:trips|clears)\s*(?:every\b[^,]*)?:"),
     "A repeat until a sensor has a bound, so that a torn wire cannot hold the scare; write how long at the most, such "
     "as `repeat until mat clears, at most 10 s:`."),
    (re.compile(r":\s*repeat\s+while\b"),
     "A repeat goes on until a sensor says so, and so long at the most: `repeat until mat clears, at most 10 s:`."),
    (re.compile(r":\s*repeat\s*(?:forever|always|endlessly)?\s*:"),
     "A repeat has an end: `repeat 4 times:`, `repeat for 6 s:` or `repeat until mat clears, at most 10 s:`; what goes "
     "on by itself is an `idle`."),
)
_PAUSES = ("wait", "pause", "delay", "sleep")
_WITH_AMOUNTS = ("cue_line", "policy_line", "scare_line", "let_line", "never_line")
_HUMAN = {
    "WORD": "a name", "NUMBER": "a number", "QUANTITY": "a quantity with its unit", "STRING": 'a text in "quotes"',
    "CLOCK": "a time of day", "ORDINAL": "a count such as `3rd`", "$END": "the end of the line",
    "COLON": "`:`", "COMMA": "`,`", "PLUS": "`+`", "EQUAL": "`=`",
}
_ANY_VALUE = frozenset(("WORD", "NUMBER", "QUANTITY", "STRING", "CLOCK"))
_AMOUNT = frozenset(("WORD", "NUMBER", "QUANTITY"))
# What each kind of line is called, and one that is right. The names are those of the shows of this project.
FORMS = {
    "show_line": ("The first line of a show", 'show "Marrow Lane"'),
    "use_line": ("A line that takes in a file", 'use "yard.rig.show"'),
    "let_line": ("A line that names a quantity", "let beat = 462 ms"),
    "night_line": ("The night", "night:"),
    "part_line": ("A part", "lamp eyes: on box pwm1"),
    "phrases_line": ("A line of properties", "bore 1-1/2 in, stroke 12 in"),
    "scare_line": ("A scare", "scare lunge on step trips:"),
    "idle_line": ("An idle", "idle breathing:"),
    "gesture_line": ("A gesture", "gesture rattle of who with n:"),
    "policy_line": ("A line that says how a scare starts anew", "while running ignore"),
    "cue_line": ("A cue", "1.2 s: eyes on"),
    "arm_line": ("A line of `pick one:`", "3 of 4: eyes on"),
    "otherwise_line": ("The other branch", "otherwise: eyes off"),
    "stop_line": ("The safe state", "stop on mushroom trips: ram retracts"),
    "never_line": ("A line that forbids", "never: ram out while lid home"),
    "at_most_line": ("A line that limits", "at most 3 of ram, lever, drum, lid extending"),
}

# Cue lines have many forms; the word that is there tells which was meant.
_CUE_FORMS = (
    ("until", "2 s: repeat until mat clears, at most 10 s:"),
    ("when", "when ram_home trips, or after 2 s: eyes on"), ("repeat", "2 s: repeat 4 times every 250 ms:"),
    ("pick", "2 s: pick one:"), ("if", "2 s: if mat tripped:"), ("every", "2 s: every 3rd run:"),
    ("then", "then +200 ms: eyes off"), ("+", "+800 ms: ram retracts"),
)


@dataclass(frozen=True, slots=True)
class Fault:
    """`mendable`: one change of the line may make it what was meant; `meant`: the change that surely does."""

    rule: Rule
    begin: int
    end: int
    message: str
    mendable: bool = True
    meant: Repair | None = None


def explain(line: Line, start: str, error: UnexpectedInput) -> Fault:
    """The place where reading stuck and what to say about it."""
    begin, end, expected = _stuck_at(line.text, error)
    found = line.text[begin:end]
    before = _last_words(line.text[:begin])
    opened = _open_quote(line.text, begin)
    if opened is not None:
        message = "These quotes do not close before the line ends."
        return Fault(rules.OPEN_QUOTE, *opened, message)
    if "COLON" in expected and not found:
        return Fault(rules.MISSING_COLON, begin, end, f"A colon is missing after `{before}`. {_form(start, line.text)}")
    slip = _slip_of_a_cue(line.text, begin, end) if start == "cue_line" else None
    if slip is not None:
        return slip
    if start == "idle_line" and found in ("on", "every"):
        message = ("An idle runs by itself while no scare of its prop does, so it has no `on` and no `every`; what a "
                   "sensor or the clock starts is a `scare`.")
        scare = Repair("write `scare` for `idle`", 0, len("idle"), "scare", 1.0)
        return Fault(rules.SYNTAX, begin, end, message, False, scare)
    once = _EVERY.search(line.text, 0, begin) if start == "scare_line" and found == ":" else None
    if once is not None:
        message = (f"A scare that the clock starts has a shortest and a longest wait, from which one is drawn: "
                   f"`every {once[1]} to {once[1]}` is always the same.")
        return Fault(rules.SYNTAX, begin, end, message, False, Repair(
            f"put in `to {once[1]}`", once.end(1), once.end(1), f" to {once[1]}", 1.0))
    bare = _unit_missing(line.text, begin, expected, start)
    if bare is not None:
        return bare
    due = _due(expected)
    if not found:
        sentence = f"The line ends after `{before}`, where {due} is due."
    elif before:
        sentence = f"After `{before}` comes {due}, not `{found}`."
    else:
        sentence = f"The line starts with `{found}`, where {due} is due."
    return Fault(rules.SYNTAX, begin, end, f"{sentence} {_form(start, line.text)}")


def _slip_of_a_cue(text: str, begin: int, end: int) -> Fault | None:
    """What is often written in a cue and means something that is written otherwise; `begin` to `end`: where it stuck.
    """
    first = text.split()[0]
    if first in _PAUSES:
        message = f"There is no `{first}`: a pause is the time of the next line, such as `+2 s: eyes on`."
        return Fault(rules.SYNTAX, 0, len(text), message, mendable=False)
    summed = summed_time(text)
    if summed is not None:
        message = f"A time is one number with one unit; `{text[summed[0] : summed[1]]}` is `{summed[2]}`."
        return Fault(rules.SYNTAX, *summed[:2], message, False, Repair(f"write `{summed[2]}`", *summed, 1.0))
    for pattern, message in _WITHOUT_AN_END:
        if pattern.search(text):
            return Fault(rules.SYNTAX, begin, end, message, mendable=False)
    return None


def _unit_missing(text: str, stuck: int, expected: set[str], start: str) -> Fault | None:
    """A bare number where a time is due, alone (`rest 20`) or with the next word read as its unit (`10 to 20 s`)."""
    bare = _BARE.search(text, 0, stuck)
    if bare is None or start not in _WITH_AMOUNTS:
        return None
    if not bare["joint"] and ("WORD" not in expected or "NUMBER" in expected):
        return None
    number = bare["number"]
    unit = "ms" if number.isdigit() and len(number) >= 3 else "s"
    what = ", such as" if start == "let_line" else ": a time such as"
    message = f"`{number}` needs its unit{what} `{number} {unit}`."
    return Fault(NO_UNIT, *bare.span("number"), message)


def _open_quote(text: str, stuck: int) -> tuple[int, int] | None:
    """The last quote of the row where reading stuck, to the end of that row, where it opens and does not close.

    A line that goes on after a comma has several rows, and a text ends on the row where it starts.
    """
    first = text.rfind("\n", 0, stuck) + 1
    last = text.find("\n", stuck)
    row = text[first:] if last < 0 else text[first:last]
    opened = first + row.rfind('"')
    return (opened, first + len(row)) if row.count('"') % 2 and stuck >= opened else None


def explain_stray(stray: Stray, start: str, line: Line) -> Fault:
    """A word that the grammar takes and no part does."""
    return Fault(rules.SYNTAX, stray.begin, stray.end, f"{stray.message} {_form(start, line.text)}")


def _form(start: str, text: str) -> str:
    what, example = FORMS[start]
    if start == "cue_line":
        words = re.findall(r"[^\W\d]\w*|\+", text)
        example = next((form for word, form in _CUE_FORMS if word in words), example)
    return f"{what} reads `{example}`."


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


def _due(expected: set[str]) -> str:
    """The things that may stand at a place, in words; what stands nearly everywhere is said shortly."""
    names = {name for name in expected if not name.startswith("__")}
    words: list[str] = []
    for kinds, said in ((_ANY_VALUE, "a word or a value"), (_AMOUNT, "an amount such as `1.2 s`")):
        if kinds <= names:
            words.append(said)
            names -= kinds
    words += sorted((_HUMAN.get(name, f"`{name.lower()}`") for name in names), key=lambda word: (word[0] != "`", word))
    if not words:
        return "something else"
    if len(words) > 6:
        words = [*words[:6], "the like"]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _last_words(before: str) -> str:
    """The last two words, a text in quotes and a number with its unit counting as one."""
    return " ".join(_SAID.findall(before)[-2:])
