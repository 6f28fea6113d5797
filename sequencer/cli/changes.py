"""Two states of a text file -> what changed, as a unified diff for people."""

from __future__ import annotations

import difflib

from sequencer.cli.files import TextFile
from sequencer.cli.terminal import Look
from sequencer.cli.text import split_lines, visible

_STYLES = {"+": "mend", "-": "error", "@": "place"}


def diff(before: TextFile, after: TextFile, look: Look) -> str:
    """The changed lines with one line around them; empty where only line ends or nothing changed."""
    name = visible(str(before.path))
    lines = difflib.unified_diff(
        split_lines(before.text), split_lines(after.text), name, f"{name} (changed)", lineterm="", n=1
    )
    return "\n".join(_painted(visible(line), look) for line in lines)


def _painted(line: str, look: Look) -> str:
    style = _STYLES.get(line[:1])
    return look.paint(style, line) if style else line
