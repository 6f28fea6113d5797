"""The streams and the environment -> how output may look: its width, and whether it may be in colour.

Says nothing about what is shown. Colour is never the only sign: every word it is laid on says the same.
"""

from __future__ import annotations

import os
import sys
from typing import IO, Literal

from sequencer.frozen import frozen

ColourChoice = Literal["auto", "always", "never"]

# Without a terminal there is no width to ask for; this one reads well in a log.
WIDTH_WITHOUT_TERMINAL = 100
NARROWEST = 40

_STYLES = {
    "error": "1;31",
    "warning": "1;33",
    "note": "1;36",
    "good": "1;32",
    "mend": "32",
    "place": "1",
    "margin": "34",
}


@frozen
class Look:
    """How text is laid out: `width` in columns, and whether it is coloured."""

    width: int = WIDTH_WITHOUT_TERMINAL
    colour: bool = False

    def paint(self, style: str, text: str) -> str:
        """`text` in the colours of `style` (a key of the table of styles), or as it is."""
        return f"\x1b[{_STYLES[style]}m{text}\x1b[0m" if self.colour and text else text


def look_of(stream: IO[str], choice: ColourChoice = "auto") -> Look:
    """How text on `stream` may look. `auto`: in colour on a terminal, unless NO_COLOR or TERM=dumb says no.

    NO_COLOR counts when it is set and not empty (no-color.org).
    """
    if choice == "auto":
        plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
        colour = is_terminal(stream) and not plain
    else:
        colour = choice == "always"
    return Look(_width(stream), colour)


def window(stream: IO[str]) -> int | None:
    """The width to fold at on a terminal; None for a file or a pipe, where every line is whole."""
    return look_of(stream).width if is_terminal(stream) else None


def is_terminal(stream: IO[str]) -> bool:
    try:
        return stream.isatty()
    except (AttributeError, ValueError):
        return False


def _width(stream: IO[str]) -> int:
    asked = os.environ.get("COLUMNS", "")
    if asked.isdecimal() and int(asked) > 0:
        return max(int(asked), NARROWEST)
    try:
        columns = os.get_terminal_size(stream.fileno()).columns if is_terminal(stream) else 0
    except (OSError, ValueError, AttributeError):
        columns = 0
    return max(columns, NARROWEST) if columns else WIDTH_WITHOUT_TERMINAL


def make_streams_forgiving() -> None:
    """Lets a stream that cannot write a character put `?` there instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
