"""Points -> curves, stretches and marks, with as few points as can be told apart on the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sequencer.pages.drawing.svg import number, tag

Point = tuple[float, float]
"""A place in pixels, x to the right, y downward."""
FINE = 0.25
"""How far, in pixels, a thinned curve may pass beside a point it leaves out."""


def polyline(points: Sequence[Point], kind: str) -> str:
    """A curve through points in pixels; nothing where there are fewer than two."""
    if len(points) < 2:
        return ""
    return tag("polyline", {"points": _said(points), "class": kind})


def band(upper: Sequence[Point], lower: Sequence[Point], kind: str) -> str:
    """The area between two curves that both run from left to right."""
    return tag("polygon", {"points": _said([*upper, *reversed(lower)]), "class": kind})


def line(one: Point, other: Point, kind: str) -> str:
    return tag("line", {"x1": one[0], "y1": one[1], "x2": other[0], "y2": other[1], "class": kind})


def box(corner: Point, size: tuple[float, float], kind: str) -> str:
    return tag("rect", {"x": corner[0], "y": corner[1], "width": size[0], "height": size[1], "class": kind})


def mark(at: Point, shape: str, kind: str, size: float = 4.5) -> str:
    """A small `circle`, `square`, `diamond` or `triangle` around a place."""
    x, y = at
    if shape == "circle":
        return tag("circle", {"cx": x, "cy": y, "r": size, "class": kind})
    corners = {
        "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
        "diamond": ((0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0)),
        "triangle": ((0.0, -1.2), (1.2, 0.9), (-1.2, 0.9)),
    }[shape]
    return tag("polygon", {"points": _said([(x + size * dx, y + size * dy) for dx, dy in corners]), "class": kind})


def thinned(points: Sequence[Point], fine: float = FINE) -> list[Point]:
    """The points without those that lie nearer than `fine` pixels to the curve through the others.

    Ramer, Douglas and Peucker's way: the farthest point from a chord is kept and both halves are looked at again.
    """
    if len(points) < 3:
        return list(points)
    keep = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        low, high = spans.pop()
        at, far = _farthest(points, low, high)
        if far > fine:
            keep.add(at)
            spans += [(low, at), (at, high)]
    return [points[at] for at in sorted(keep)]


def _farthest(points: Sequence[Point], low: int, high: int) -> tuple[int, float]:
    (x, y), (u, v) = points[low], points[high]
    dx, dy = u - x, v - y
    length = (dx * dx + dy * dy) ** 0.5
    best, far = low, 0.0
    for at in range(low + 1, high):
        px, py = points[at][0] - x, points[at][1] - y
        off = abs(px * dy - py * dx) / length if length > 0 else (px * px + py * py) ** 0.5
        if off > far:
            best, far = at, off
    return best, far


def _said(points: Iterable[Point]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)
