"""Scales and ticks -> an axis with its grid: the frame it belongs to, numbers beside it, its title with the unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.pages.drawing.lines import box, line
from sequencer.pages.drawing.scale import Scale, Tick
from sequencer.pages.drawing.svg import group, text, text_width

LABEL_PX, TITLE_PX = 14.0, 15.0
"""Sizes of the text: readable at arm's length on a screen of 96 pixels an inch (common practice, no source)."""
TICK_PX, GAP_PX = 5.0, 5.0


@dataclass(frozen=True, slots=True)
class Frame:
    """The rectangle in which curves are drawn, in pixels."""

    left: float
    top: float
    right: float
    bottom: float


def outline(frame: Frame) -> str:
    return box((frame.left, frame.top), (frame.right - frame.left, frame.bottom - frame.top), "d-frame")


def grid_across(frame: Frame, scale: Scale, ticks: Sequence[Tick]) -> str:
    """An upright line through the frame at each tick of the axis below."""
    lines = [line((scale.at(tick.value), frame.top), (scale.at(tick.value), frame.bottom), "d-grid") for tick in ticks]
    return group("d-across", *lines)


def axis_below(frame: Frame, scale: Scale, ticks: Sequence[Tick], title: str = "") -> str:
    """Numbers below the frame; labels that would touch the one before are left out."""
    parts, free = list[str](), -1e6
    for tick in ticks:
        x = scale.at(tick.value)
        parts.append(line((x, frame.bottom), (x, frame.bottom + TICK_PX), "d-axis"))
        half = text_width(tick.label, LABEL_PX) / 2
        if x - half >= free:
            parts.append(text((x, frame.bottom + TICK_PX + LABEL_PX), tick.label, anchor="middle"))
            free = x + half + GAP_PX
    if title:
        middle = (frame.left + frame.right) / 2
        below = frame.bottom + TICK_PX + LABEL_PX + GAP_PX + TITLE_PX
        parts.append(text((middle, below), title, "d-title", "middle"))
    return group("d-below", *parts)


def height_below(title: bool) -> float:
    """How much room `axis_below` takes under its frame."""
    return TICK_PX + LABEL_PX + GAP_PX + (TITLE_PX + GAP_PX if title else 0.0)


def axis_left(frame: Frame, scale: Scale, ticks: Sequence[Tick], title: str = "") -> str:
    """Numbers left of the frame and a grid through it; the title stands turned at the far left."""
    parts = []
    for tick in ticks:
        y = scale.at(tick.value)
        parts.append(line((frame.left, y), (frame.right, y), "d-grid"))
        parts.append(line((frame.left - TICK_PX, y), (frame.left, y), "d-axis"))
        parts.append(text((frame.left - TICK_PX - GAP_PX, y + LABEL_PX * 0.35), tick.label, anchor="end"))
    if title:
        x = frame.left - width_left(ticks, True) + TITLE_PX
        parts.append(text((x, (frame.top + frame.bottom) / 2), title, "d-title", "middle", turned=True))
    return group("d-left", *parts)


def width_left(ticks: Sequence[Tick], title: bool) -> float:
    """How much room `axis_left` takes left of its frame."""
    widest = max((text_width(tick.label, LABEL_PX) for tick in ticks), default=0.0)
    return TICK_PX + GAP_PX + widest + (TITLE_PX + 2 * GAP_PX if title else 0.0)
