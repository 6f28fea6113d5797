"""Curves with one quantity -> a panel: its legend, its frame with axes and grid, the curves, the levels beside them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from sequencer.pages.drawing.axes import GAP_PX, Frame, axis_left, grid_across, outline, width_left
from sequencer.pages.drawing.legend import Entry, legend
from sequencer.pages.drawing.lines import Point, band, line, mark, polyline, thinned
from sequencer.pages.drawing.scale import Scale, Tick, spread, ticks
from sequencer.pages.drawing.svg import group
from sequencer.pages.drawing.theme import SHAPES
from sequencer.units import Unit

PANEL_PX = 200.0
MOST_TICKS = 5
Values = TypeVar("Values", bound=tuple[float, ...])
HEADROOM = 0.03
"""Share of the range that is left free above a curve, so that it does not run along the frame."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Points (x, y) in SI, x never falling; a y that is not finite is a gap. `marked`: each point is shown."""

    name: str
    points: tuple[Point, ...]
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Spread:
    """Where the values of a curve may lie: points (x, lowest, highest) in SI, shaded behind the curve of that number.

    A point that is not finite is a gap.
    """

    curve: int
    points: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Level:
    """A value that the curves are to be read against, such as a limit."""

    name: str
    value: float


@dataclass(frozen=True, slots=True)
class Panel:
    """Curves with one quantity, at most as many as there are dashes. `at_zero`: the axis has 0 in any case."""

    title: str
    unit: Unit
    curves: tuple[Curve, ...]
    levels: tuple[Level, ...] = ()
    spreads: tuple[Spread, ...] = ()
    at_zero: bool = True


def range_of(panel: Panel) -> tuple[float, float]:
    """What the axis at the left spans, in SI: all that is drawn, to whole ticks."""
    ys = [y for curve in panel.curves for _, y in curve.points if math.isfinite(y)]
    ys += [level.value for level in panel.levels]
    ys += [y for spread in panel.spreads for _, *both in spread.points for y in both if math.isfinite(y)]
    if panel.at_zero or not ys:
        ys.append(float(panel.unit.offset))
    low, high = min(ys), max(ys)
    return spread(low, high + HEADROOM * (high - low), panel.unit, MOST_TICKS)


def room_left(panel: Panel) -> float:
    """How much room its axis takes left of the frame, in pixels."""
    return width_left(ticks(*range_of(panel), panel.unit, MOST_TICKS), True)


def panel(said: Panel, across: Scale, top: float, below: tuple[Tick, ...]) -> tuple[str, Frame]:
    """The drawing and its frame. `across` is the scale of the axis below, `below` its ticks."""
    entries = [Entry(curve.name, f"d-c{at}", at if curve.marked else None) for at, curve in enumerate(said.curves)]
    entries += [Entry(level.name, "d-limit") for level in said.levels]
    legends, high = legend((across.start, top), across.end - across.start, entries if len(entries) > 1 else [])
    upper = top + high + (GAP_PX if high else 0.0)
    frame = Frame(across.start, upper, across.end, upper + PANEL_PX)
    up = Scale(*range_of(said), frame.bottom, frame.top)
    left = axis_left(frame, up, ticks(up.low, up.high, said.unit, MOST_TICKS), f"{said.title} ({said.unit.symbol})")
    levels = [line((frame.left, y), (frame.right, y), "d-limit") for y in (up.at(one.value) for one in said.levels)]
    spreads = [part for one in said.spreads for part in _shaded(one, across, up)]
    curves = [part for at, curve in enumerate(said.curves) for part in _curve(curve, at, across, up)]
    return group("d-panel", legends, grid_across(frame, across, below), left, *spreads, *levels, *curves,
                 outline(frame)), frame


def _shaded(spread: Spread, across: Scale, up: Scale) -> Iterator[str]:
    for piece in _pieces(spread.points):
        lower = [(across.at(x), up.at(low)) for x, low, _ in piece]
        upper = [(across.at(x), up.at(high)) for x, _, high in piece]
        if len(piece) > 1:
            yield band(upper, lower, f"d-b{spread.curve}")


def _curve(curve: Curve, at: int, across: Scale, up: Scale) -> Iterator[str]:
    for values in _pieces(curve.points):
        piece = [(across.at(x), up.at(y)) for x, y in values]
        yield polyline(thinned(piece), f"d-c{at}")
        if curve.marked or len(piece) == 1:
            yield from (mark(place, SHAPES[at], f"d-m{at}") for place in piece)


def _pieces(points: Iterable[Values]) -> Iterator[list[Values]]:
    """The stretches of points that are finite."""
    piece: list[Values] = []
    for point in points:
        if all(map(math.isfinite, point)):
            piece.append(point)
        elif piece:
            yield piece
            piece = []
    if piece:
        yield piece
