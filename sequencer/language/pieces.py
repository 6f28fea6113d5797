"""Text -> pieces that are each read by themselves: a line that stands at the left, with all up to the next such line.

So an edit makes only its own piece be read again. Where lines of different pieces would have a say in one another
there are no pieces.
"""

from __future__ import annotations

import re

from sequencer.language.lines import BREAK, LONGEST_LINE, strip_comment

_AT_LEFT = re.compile(r"^(?=[A-Za-z_])", re.MULTILINE)
_TOO_LONG = re.compile(rf"[^\r\n]{{{LONGEST_LINE + 1}}}")


def pieces_of(text: str) -> list[tuple[int, str]]:
    """The number of the first line of each piece, and its text; none where the text is one whole.

    A tab may be an indent, and the indents of a file are held against each other. A line that is too long is passed
    over, so that what stands below it belongs to the line above. A first line that is indented is a fault of the next.
    """
    first, *parts = _AT_LEFT.split(text)
    alone = len(parts) < 2 or "\t" in text or _TOO_LONG.search(text) is not None
    if alone or any(strip_comment(line).strip() for line in BREAK.split(first)):
        return []
    parts[0] = first + parts[0]
    plain = "\r" not in text
    found, number = [], 1
    for part in parts:
        found.append((number, part))
        number += part.count("\n") if plain else len(BREAK.findall(part))
    return found
