"""The catalogue of what can be wrong with the text itself, before any name is looked up."""

from __future__ import annotations

from sequencer.findings import Rule, Severity

_BOARD = 'show "Marrow Lane"\nboard box like avr328\n'
_SENSOR = _BOARD + "sensor step like mat:\n    on box in0\n"

NOT_TEXT = Rule(
    "L001", "not a text file",
    "A show is UTF-8 text. A picture, a word-processor file or a text saved in another encoding cannot be read; "
    "save it as plain UTF-8 text.",
    failing="show \"Marrow Lane\0\"\n", mended=_BOARD,
)
TOO_LARGE = Rule(
    "L002", "file or line too large",
    "A file has at most 2 MB and a line at most 2,000 characters, so that a wrong file is refused at once "
    "instead of being chewed on.",
    failing='show "' + "x" * 2_000 + '"\n', mended=_BOARD,
    source="a bound of this tool, far above any cue sheet",
)
EMPTY = Rule(
    "L003", "nothing in it",
    "The file has no line that says anything. A show starts with `show \"Name\"`.",
    failing="# nothing yet\n", mended=_BOARD, severity=Severity.ERROR,
)
ODD_CHARACTER = Rule(
    "L004", "a character that only looks right",
    "Word processors and web pages put in curly quotes, long dashes and spaces that do not break. They look "
    "right and are other characters, so they are named and read as the plain ones they stand for.",
    failing="show \u201cMarrow Lane\u201d\n", mended=_BOARD,
)
MIXED_INDENT = Rule(
    "L005", "spaces and tabs mixed",
    "Blocks are told by indentation. A tab looks like any number of spaces, so a file is indented with one of "
    "the two throughout.",
    failing=_SENSOR + "sensor cord like push_button:\n\ton box in1\n",
    mended=_SENSOR + "sensor cord like push_button:\n    on box in1\n",
)
INDENT = Rule(
    "L006", "indentation that fits no line above",
    "A line belongs to the nearest line above that is indented less. A line that is indented between two "
    "levels belongs to neither.",
    failing=_BOARD + "sensor step:\n        on box in0\n    low when tripped\n",
    mended=_BOARD + "sensor step:\n        on box in0\n        low when tripped\n",
)
TOO_DEEP = Rule(
    "L007", "blocks too deep",
    "Sixteen levels of blocks are more than any cue sheet needs and any board runs.",
    failing='show "A"\n' + "".join(" " * i + "sensor a:\n" for i in range(20)), mended=_BOARD,
    source="a bound of this tool",
)
SYNTAX = Rule(
    "L008", "a line that cannot be read",
    "The words of this line do not make a line of a show. The message says how far it was understood and what "
    "could stand there; `grammar/REFERENCE.md` has all forms with examples.",
    failing=_BOARD + "sensor step like mat:\n    on: box in0\n", mended=_SENSOR,
)
NO_BLOCK = Rule(
    "L009", "a deeper line where nothing opens a block",
    "Only a line that ends in a colon has lines of its own below it. Either the line above lacks its colon or "
    "this line is indented too far.",
    failing='show "Marrow Lane"\n    board box like avr328\n', mended=_BOARD,
)
OPEN_QUOTE = Rule(
    "L010", "quotes that do not close",
    "A text starts and ends with a double quote on the same line.",
    failing='show "Marrow Lane\n', mended=_BOARD,
)
MISSING_COLON = Rule(
    "L011", "a colon is missing",
    "A colon stands after the name of a part or scare, after the time of a cue and after the words that open a "
    "block.",
    failing=_SENSOR.replace("mat:", "mat"), mended=_SENSOR,
)
WRONG_PLACE = Rule(
    "L012", "a line that does not belong here",
    "Each kind of line has its place: parts at the left edge or in a prop, cues in a scare, weights such as "
    "`3 of 4:` in `pick one:`.",
    failing=_SENSOR + "    lamp eyes: on box pwm0\n", mended=_SENSOR + "lamp eyes: on box pwm0\n",
)
EMPTY_BLOCK = Rule(
    "L013", "a block without lines",
    "A line that ends in a colon and opens a block needs at least one deeper line that says what is in it.",
    failing=_BOARD + "scare lunge:\n", mended=_BOARD,
)

FOREIGN_NUMBER = Rule(
    "L014", "a number written otherwise",
    "A comma parts phrases, a double quote opens a text, and a point alone is easily overlooked: half a second is "
    "`0.5 s` and a foot is `12 in`.",
    failing=_BOARD + "let beat = 0,5 s\n", mended=_BOARD + "let beat = 0.5 s\n",
)

NOT_A_SHOW = Rule(
    "L015", "a file that is no show",
    "Where a thousand lines cannot be read the file is something else, such as a table or a log, and a thousand "
    "findings would help nobody. The rest of it is not looked at.",
    failing="".join(f"{i};{i}\n" for i in range(1_001)), mended=_BOARD,
    source="a bound of this tool, far above the slips of any evening",
)

ALL = (
    NOT_TEXT, TOO_LARGE, EMPTY, ODD_CHARACTER, MIXED_INDENT, INDENT, TOO_DEEP, SYNTAX, NO_BLOCK, OPEN_QUOTE,
    MISSING_COLON, WRONG_PLACE, EMPTY_BLOCK, FOREIGN_NUMBER, NOT_A_SHOW,
)
