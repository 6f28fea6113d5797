"""Panels of curves over one axis -> a picture by itself, as SVG text. Nothing is cut and nothing lies off the chart.

Values are SI; each panel and the axis below are numbered in the unit given with them. Names are text, whatever they
hold.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.pages.drawing.axes import GAP_PX, LABEL_PX, Frame, axis_below, height_below
from sequencer.pages.drawing.events import Event, height_of, names_and_lines, placed
from sequencer.pages.drawing.panel import Panel, panel, room_left
from sequencer.pages.drawing.scale import Scale, spread, ticks
from sequencer.pages.drawing.svg import escaped, group, tag, text, text_width
from sequencer.pages.drawing.theme import of_a_picture
from sequencer.units import Unit

WIDTH_PX, MARGIN_PX, BETWEEN_PX = 900.0, 16.0, 16.0
HEAD_PX, ROW_PX = 18.0, 20.0
MOST_TICKS = 10


@dataclass(frozen=True, slots=True)
class Chart:
    """`about`: lines of plain text under the head. `below` names the axis that all panels share."""

    head: str
    about: tuple[str, ...]
    below: str
    unit: Unit
    panels: tuple[Panel, ...]
    events: tuple[Event, ...] = ()


def picture(chart: Chart, width: float = WIDTH_PX) -> str:
    """The whole picture. Raises ValueError where there is nothing to draw."""
    left = MARGIN_PX + max(room_left(one) for one in chart.panels)
    across = Scale(*_range_below(chart), left, width - MARGIN_PX - LABEL_PX)
    below = ticks(across.low, across.high, chart.unit, MOST_TICKS)
    head, top = _head(chart, width)
    events = placed(chart.events, across, (MARGIN_PX, width - MARGIN_PX))
    drawn, frames, y = list[str](), list[Frame](), top + height_of(events)
    for one in chart.panels:
        part, frame = panel(one, across, y, below)
        drawn.append(part)
        frames.append(frame)
        y = frame.bottom + BETWEEN_PX
    axis = axis_below(frames[-1], across, below, f"{chart.below} ({chart.unit.symbol})")
    height = frames[-1].bottom + height_below(True) + MARGIN_PX
    return _svg(chart, (width, height), (head, *drawn, names_and_lines(events, top, frames), axis))


def _svg(chart: Chart, size: tuple[float, float], parts: tuple[str, ...]) -> str:
    width, height = (f"{side:.0f}" for side in size)
    attributes = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width} {height}", "width": width,
                  "height": height, "role": "img"}
    about = tag("desc", {}, escaped(" ".join(chart.about))) if chart.about else ""
    ground = tag("rect", {"width": "100%", "height": "100%", "class": "d-ground"})
    return tag("svg", attributes, tag("title", {}, escaped(chart.head)), about, tag("style", {}, of_a_picture()),
               ground, *parts)


def _range_below(chart: Chart) -> tuple[float, float]:
    xs = [x for one in chart.panels for curve in one.curves for x, _ in curve.points]
    if not xs:
        raise ValueError("there is nothing to draw")
    xs += [event.at for event in chart.events]
    return spread(min(xs), max(xs), chart.unit, MOST_TICKS)


def _head(chart: Chart, width: float) -> tuple[str, float]:
    """The head and what is said under it, and where the next thing may begin."""
    room = width - 2 * MARGIN_PX
    rows = [(words, "d-head", HEAD_PX * 1.06) for words in wrapped(chart.head, HEAD_PX * 1.06, room)]
    rows += [(words, "d-label", LABEL_PX) for row in chart.about for words in wrapped(row, LABEL_PX, room)]
    y, parts = MARGIN_PX, list[str]()
    for words, kind, size in rows:
        y += size + GAP_PX
        parts.append(text((MARGIN_PX, y - GAP_PX), words, kind))
    return group("d-about", *parts), y + 2 * GAP_PX


def wrapped(words: str, size: float, room: float) -> list[str]:
    """Words on rows that fit into a width; one word too long for it stands by itself.

    >>> wrapped("the rod is home", 14.0, 80.0)
    ['the rod is', 'home']
    """
    rows = [""]
    for word in words.split():
        longer = f"{rows[-1]} {word}".strip()
        if rows[-1] and text_width(longer, size) > room:
            rows.append(word)
        else:
            rows[-1] = longer
    return [row for row in rows if row]
