"""Moments -> upright lines through the frames and their names above, so that no name touches another or is cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.pages.drawing.axes import GAP_PX, LABEL_PX, Frame
from sequencer.pages.drawing.lines import line
from sequencer.pages.drawing.scale import Scale
from sequencer.pages.drawing.svg import group, text, text_width

ROW_PX = 20.0


@dataclass(frozen=True, slots=True)
class Event:
    """A moment (or another value of the axis below) with its name."""

    name: str
    at: float


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a name stands: its row from the top, its line, and on which side of the line it is."""

    event: Event
    row: int
    x: float
    leftward: bool


def placed(events: Sequence[Event], across: Scale, limits: tuple[float, float]) -> tuple[Placed, ...]:
    """Each event in the uppermost row in which its name has room between the limits (pixels).

    Its name touches no other name, no line of a row above crosses it, and its own line crosses none below. Names
    stand right of their lines, the last ones left of them where there is no room: as few of these as will do.
    """
    ordered = sorted(events, key=lambda event: event.at)
    for rightward in range(len(ordered), -1, -1):
        found = _in_rows(ordered, rightward, across)
        if found is not None and all(limits[0] <= low and high <= limits[1] for low, high in map(_span, found)):
            return found
    # Names longer than half the picture: each in a row of its own.
    return tuple(Placed(event, row, across.at(event.at), False) for row, event in enumerate(ordered))


def _in_rows(ordered: Sequence[Event], rightward: int, across: Scale) -> tuple[Placed, ...] | None:
    """The first so many with names to the right of their lines, the others to the left; None where they cannot be."""
    found: list[Placed] = []
    for event in [*ordered[:rightward], *reversed(ordered[rightward:])]:
        leftward = event in ordered[rightward:]
        rows = (Placed(event, row, across.at(event.at), leftward) for row in range(len(ordered)))
        fits = next((one for one in rows if all(_apart(one, other) for other in found)), None)
        if fits is None:
            return None
        found.append(fits)
    return tuple(found)


def height_of(events: Sequence[Placed]) -> float:
    """Room for the names above the first frame."""
    return (max(one.row for one in events) + 1) * ROW_PX + GAP_PX if events else 0.0


def names_and_lines(events: Sequence[Placed], top: float, frames: Sequence[Frame]) -> str:
    """Names from `top` down, lines from each name to the first frame and through every frame."""
    parts = []
    for one in events:
        y = top + one.row * ROW_PX
        x = one.x - GAP_PX if one.leftward else one.x + GAP_PX
        parts.append(text((x, y + LABEL_PX), one.event.name, anchor="end" if one.leftward else "start"))
        parts.append(line((one.x, y), (one.x, frames[0].bottom), "d-event"))
        parts += [line((one.x, frame.top), (one.x, frame.bottom), "d-event") for frame in frames[1:]]
    return group("d-events", *parts) if parts else ""


def _room(event: Event) -> float:
    return text_width(event.name, LABEL_PX) + 2 * GAP_PX


def _span(one: Placed) -> tuple[float, float]:
    return (one.x - _room(one.event), one.x) if one.leftward else (one.x, one.x + _room(one.event))


def _apart(one: Placed, other: Placed) -> bool:
    """Whether neither name touches the other, nor is crossed by the line of the one in the higher row."""
    (low, high), (left, right) = _span(one), _span(other)
    if one.row == other.row:
        return high <= left or low >= right
    upper, (left, right) = (one, (left, right)) if one.row < other.row else (other, (low, high))
    return not left < upper.x < right
