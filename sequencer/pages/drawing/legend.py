"""Names of curves -> rows of samples with their names, wrapped to a width. A sample shows dash, colour and mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.pages.drawing.axes import LABEL_PX
from sequencer.pages.drawing.lines import line, mark
from sequencer.pages.drawing.svg import group, text, text_width
from sequencer.pages.drawing.theme import SHAPES

SAMPLE_PX, GAP_PX, ROW_PX = 34.0, 18.0, 22.0


@dataclass(frozen=True, slots=True)
class Entry:
    """A name and the classes of its line and, where its points are marked, of its mark."""

    name: str
    kind: str
    marked: int | None = None


def legend(at: tuple[float, float], width: float, entries: Sequence[Entry]) -> tuple[str, float]:
    """The drawing, its upper left corner at a place, and how high it is; nothing and 0 for no entries."""
    left, top = at
    x, y = left, top + ROW_PX / 2
    parts = []
    for entry in entries:
        room = SAMPLE_PX + 6 + text_width(entry.name, LABEL_PX)
        if x > left and x + room > left + width:
            x, y = left, y + ROW_PX
        parts.append(line((x, y), (x + SAMPLE_PX, y), entry.kind))
        if entry.marked is not None:
            parts.append(mark((x + SAMPLE_PX / 2, y), SHAPES[entry.marked], f"d-m{entry.marked}"))
        parts.append(text((x + SAMPLE_PX + 6, y + LABEL_PX * 0.35), entry.name))
        x += room + GAP_PX
    return (group("d-legend", *parts), y - top + ROW_PX / 2) if parts else ("", 0.0)
