"""A linkage -> the same as cubic pieces over the stroke, for loops where its sines and roots cost too much.

The slope of the mass is the slope of the tabled mass itself, so a motion along the table keeps its energy to the
solver's own error; what the table gets wrong is the mass and the load, and `tabled` says by how much. A rope that
stretches has a corner, where cubics do badly.
"""

from __future__ import annotations

import math
from itertools import pairwise

from sequencer.air.mechanism.linkage import End, Linkage, Terms
from sequencer.frozen import frozen

Cell = tuple[float, float, float, float, float, float, float, float]
"""Four factors of the mass, four of the load, in powers of the share of the cell."""


@frozen
class TabledLinkage:
    """Answers as `exact` does, from `cells` of equal width. Ends come from `exact`."""

    exact: Linkage
    cells: tuple[Cell, ...]
    out_m: float
    rubs_n: float
    share: float
    per_m: float

    def terms(self, x_m: float) -> Terms:
        place = x_m * self.per_m
        index = int(place)
        if place < 0:
            place, index = 0.0, 0
        elif index >= len(self.cells):
            index = len(self.cells) - 1
            place = index + 1.0
        m0, m1, m2, m3, q0, q1, q2, q3 = self.cells[index]
        t = place - index
        return (
            m0 + t * (m1 + t * (m2 + t * m3)),
            0.5 * self.per_m * (m1 + t * (2 * m2 + 3 * t * m3)),
            q0 + t * (q1 + t * (q2 + t * q3)),
        )

    def end_at(self, x_m: float) -> End | None:
        return self.exact.end_at(x_m)


def tabled(linkage: Linkage, cells: int = 64, least_kg: float = 0.0) -> tuple[TabledLinkage, float]:
    """The table, and its greatest error in mass or load as a share of the greatest mass or load on the stroke.

    The error is measured at three places within each cell. Cubic pieces: twice the cells, a sixteenth of the error.
    Raises ValueError for a linkage without an end of its own, which needs no table, and where the tabled mass would
    fall below `least_kg`, as it can where a rocker turns back or a swing ends near a dead centre: more cells, or none.

    >>> from sequencer.air.mechanism.scissor import ScissorStack
    >>> table, error = tabled(ScissorStack(2, 0.5, 0.3, 1.2, 3.0))
    >>> error < 1e-4
    True
    """
    if not 0 < linkage.out_m < float("inf"):
        raise ValueError(f"a linkage that ends at {linkage.out_m} m has no stroke to table")
    width = linkage.out_m / cells
    knots = [_knot(linkage, number * width, width) for number in range(cells + 1)]
    rows = tuple(_cubic(a[:2], b[:2]) + _cubic(a[2:], b[2:]) for a, b in pairwise(knots))
    if min(_least(row[:4]) for row in rows) < least_kg:
        raise ValueError(f"in {cells} cells the mass of this linkage would fall below {least_kg:g}; "
                         "use it without a table")
    table = TabledLinkage(linkage, rows, linkage.out_m, linkage.rubs_n, linkage.share, 1 / width)
    return table, _error(linkage, table, width)


def _knot(linkage: Linkage, x: float, width: float) -> tuple[float, float, float, float]:
    """Mass and load with their slopes by the cell; that of the load by differences, one-sided at the ends."""
    mass, half, load = linkage.terms(x)
    step = width / 64
    if x - step < 0:
        step = -step
    elif x + step <= linkage.out_m:
        after, before = linkage.terms(x + step)[2], linkage.terms(x - step)[2]
        return mass, 2 * half * width, load, (after - before) / (2 * step) * width
    near, far = linkage.terms(x - step)[2], linkage.terms(x - 2 * step)[2]
    return mass, 2 * half * width, load, (3 * load - 4 * near + far) / (2 * step) * width


def _cubic(start: tuple[float, ...], end: tuple[float, ...]) -> tuple[float, float, float, float]:
    """Hermite's cubic through two values with two slopes, over a cell from 0 to 1."""
    (a, slope_a), (b, slope_b) = start, end
    return a, slope_a, 3 * (b - a) - 2 * slope_a - slope_b, 2 * (a - b) + slope_a + slope_b


def _least(cubic: tuple[float, ...]) -> float:
    """The least value of a cubic between 0 and 1: at either end, or where its slope is 0."""
    a, b, c, d = cubic
    turns: tuple[float, ...] = ()
    if d != 0 and c * c >= 3 * b * d:
        root = math.sqrt(c * c - 3 * b * d)
        turns = ((-c - root) / (3 * d), (-c + root) / (3 * d))
    elif c != 0:
        turns = (-b / (2 * c),)
    return min(a + t * (b + t * (c + t * d)) for t in (0.0, 1.0, *(t for t in turns if 0 < t < 1)))


def _error(linkage: Linkage, table: TabledLinkage, width: float) -> float:
    places = [(cell + part) * width for cell in range(len(table.cells)) for part in (0.25, 0.5, 0.75)]
    pairs = [(linkage.terms(x), table.terms(x)) for x in places]
    worst = 0.0
    for term in (0, 2):
        most = max(abs(exact[term]) for exact, _ in pairs)
        if most > 0:
            worst = max(worst, max(abs(exact[term] - found[term]) for exact, found in pairs) / most)
    return worst
