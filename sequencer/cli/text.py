"""Text -> what it looks like on a terminal: its width, its harmless form, its lines wrapped.

Knows characters and columns; nothing of findings and nothing of colours.
"""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Iterable
from unicodedata import category, east_asian_width

TAB_STOP = 8
_UNITS = frozenset("% s ms min h psi bar kPa MPa in ft mm cm m V W Hz dB L gal lb kg N lbf deg J ft/s m/s".split())
# As the reader of the language splits them: form feeds and the like end no line.
BREAK = re.compile(r"\r\n|\n|\r")
# Marks that turn the direction of writing would let a line read differently from what it says.
_TURNING = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def split_lines(text: str) -> list[str]:
    """The lines of a file without their ends; line n of a span is the item n - 1."""
    return BREAK.split(text)


def visible(text: str) -> str:
    """`text` with `?` for every character that could move the cursor, change colours or turn the line.

    Tabs stay. One character stays one character, so columns keep their meaning.

    >>> visible("eyes\\x1b[31m on")
    'eyes?[31m on'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join("?" if _harmful(character) else character for character in text)


def harmless(text: str) -> str:
    """`visible`, for a text of several lines: its line ends stay.

    >>> harmless("eyes\\x1b[31m\\nram")
    'eyes?[31m\\nram'
    """
    return "\n".join(visible(line) for line in split_lines(text))


def _harmful(character: str) -> bool:
    if character == "\t":
        return False
    return category(character) in ("Cc", "Cs", "Zl", "Zp") or character in _TURNING


def width_of(character: str) -> int:
    """Columns of one character: 2 for wide East Asian ones, 0 for those that join the one before, else 1.

    Wide means W or F in Unicode Standard Annex 11 (East Asian Width).
    """
    if character.isascii():
        return 1
    if category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if east_asian_width(character) in "WF" else 1


def width(text: str, start: int = 0) -> int:
    """Columns that `text` takes when it begins at column `start`; a tab goes to the next multiple of 8.

    >>> width("ram"), width("幽霊"), width("\\tx")
    (3, 4, 9)
    """
    if text.isascii() and "\t" not in text:
        return len(text)
    column = start
    for character in text:
        column += TAB_STOP - column % TAB_STOP if character == "\t" else width_of(character)
    return column - start


def blank(text: str) -> str:
    """Spaces as wide as `text`, with its tabs kept, so that what follows stands under what follows it."""
    if text.isascii() and "\t" not in text:
        return " " * len(text)
    return "".join("\t" if character == "\t" else " " * width_of(character) for character in text)


def wrap(text: str, room: int) -> list[str]:
    """Words on lines of at most `room` columns; a word longer than that stands on a line of its own.

    A number and its unit are one word.
    """
    lines: list[str] = []
    for paragraph in split_lines(text):
        line = ""
        for word in _words(paragraph):
            if line and width(line) + 1 + width(word) > room:
                lines.append(line)
                line = word
            else:
                line = f"{line} {word}" if line else word
        lines.append(line)
    return lines


def _words(paragraph: str) -> list[str]:
    words: list[str] = []
    for word in paragraph.split():
        if words and words[-1][-1:].isdigit() and word.rstrip(".,;:?`)") in _UNITS:
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def indented(text: str, indent: str, room: int) -> list[str]:
    """`text` wrapped to `room` columns with `indent` before each line."""
    return [indent + line for line in wrap(text, max(room - len(indent), 20))]


def shell_word(text: str) -> str:
    """`text` as one word of a command that can be typed, in quotes where it needs them.

    >>> shell_word("yard.show")
    'yard.show'
    """
    if sys.platform == "win32":
        return f'"{text}"' if re.search(r"[^\w./\\:-]", text) else text
    return shlex.quote(text)


def counted(number: int, word: str) -> str:
    """
    >>> counted(1, "error"), counted(3, "error")
    ('1 error', '3 errors')
    """
    return f"{number} {word}" if number == 1 else f"{number:,} {word}s"


def listed(parts: Iterable[str]) -> str:
    """
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    items = list(parts)
    return " and ".join([", ".join(items[:-1]), items[-1]] if len(items) > 1 else items)
