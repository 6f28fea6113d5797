"""Long rows of numbers -> short ones: points that a straight line goes through anyway are left out, steps not places.

Everything here is pure arithmetic; the page's script takes the rows apart again (`decode.js`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Point = tuple[float, float]


def thinned(points: Sequence[Point], tolerance: float) -> list[Point]:
    """Some of the points, so that the line through them is never further off than `tolerance` at any x.

    `points` go forward in x; two of one x are a jump, which stays. The first and the last point stay. One pass with a
    cone of slopes that still suit all points since the last one kept (Tomek 1974 calls it cone intersection; from
    memory).

    >>> thinned([(0, 0.0), (1, 0.1), (2, 0.2), (3, 0.9)], 0.01)
    [(0, 0.0), (2, 0.2), (3, 0.9)]
    """
    if len(points) < 3:
        return list(points)
    kept = [points[0]]
    at, last = 0, len(points) - 1
    while at < last:
        at = _furthest(points, at, tolerance)
        kept.append(points[at])
    return kept


def _furthest(points: Sequence[Point], begin: int, tolerance: float) -> int:
    """The last point that a straight line from `begin` may lead to past all those between."""
    x0, y0 = points[begin]
    low, high = float("-inf"), float("inf")
    best = begin + 1
    for index in range(begin + 1, len(points)):
        x, y = points[index]
        way = x - x0
        if way <= 0:
            if index == begin + 1:
                return index
            break
        if low <= (y - y0) / way <= high:
            best = index
        low = max(low, (y - tolerance - y0) / way)
        high = min(high, (y + tolerance - y0) / way)
        if low > high:
            break
    return best


def steps_of(rows: Iterable[Sequence[int]], counted: int = 1) -> list[int]:
    """Rows of whole numbers as one flat list; the first `counted` columns as steps from the row before.

    >>> steps_of([(10, 5), (14, 5), (20, 7)])
    [10, 5, 4, 5, 6, 7]
    """
    flat: list[int] = []
    before = [0] * counted
    for row in rows:
        flat += [value - was for value, was in zip(row, before, strict=False)]
        flat += row[counted:]
        before = list(row[:counted])
    return flat


def curve_of(points: Sequence[Point], grain: float, tolerance: float) -> list[int]:
    """(ms, value) points as steps of 0.1 ms and of `grain`, thinned to `tolerance`.

    >>> curve_of([(0.0, 0.0), (10.0, 0.5), (20.0, 1.0)], 0.01, 0.001)
    [0, 0, 200, 100]
    """
    rows = [(round(x * 10), round(y / grain)) for x, y in thinned(points, tolerance)]
    return steps_of(rows, counted=2)


def gaps_of(stretches: Iterable[Sequence[int]]) -> list[int]:
    """(begin, end, more...) as (gap since the last end, length, more...), flat.

    >>> gaps_of([(100, 150, 1), (160, 200, 0)])
    [100, 50, 1, 10, 40, 0]
    """
    flat: list[int] = []
    last = 0
    for begin, end, *more in stretches:
        flat += [begin - last, end - begin, *more]
        last = end
    return flat
