"""One thing a command has to say -> its sign and its sentence, wrapped to the window, on stdout or stderr."""

from __future__ import annotations

import sys

import click

from sequencer.cli.terminal import ColourChoice, look_of
from sequencer.cli.text import harmless, indented

SIGNS = {"good": "[ok]", "note": "[i]", "warning": "[!]", "error": "[x]"}


def say(style: str, text: str, *, err: bool = False, color: ColourChoice = "auto") -> None:
    """Says `text` behind the sign of `style`, a key of SIGNS; further lines stand under the first word."""
    look = look_of(sys.stderr if err else sys.stdout, color)
    sign = SIGNS[style]
    room = " " * (len(sign) + 1)
    first, *more = indented(harmless(text), room, look.width)
    rows = [f"{look.paint(style, sign)} {first[len(room) :]}", *more]
    click.echo("\n".join(rows), err=err, color=look.colour)
