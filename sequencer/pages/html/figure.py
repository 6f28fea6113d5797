"""Bodies with a pose for each place of the rod -> one drawing to scale, as SVG text that the page's script moves.

Places are in metres, x to the right, y up; what comes out is in units of the drawing, y down. A body is drawn at its
own origin and carried by poses (x, y, angle in radians, stretch along its own x), evenly spread over the rod's way
from home to out; between two poses the script goes evenly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from sequencer.pages.drawing.svg import number, tag, text

Pose = tuple[float, float, float, float]
Place = tuple[float, float]
Shape = Literal["line", "area", "circle", "zigzag"]

WIDTH, HEIGHT, EDGE = 240.0, 150.0, 10.0
"""Of a drawing, in its own units, and the edge that stays free around it."""
POSES = 24
"""Steps from home to out: a swing of 90 deg is then never more than a thousandth of its arm off (1 - cos of 2 deg)."""
NOT_SEEN = 0.1
"""Of a drawing's units: less than a fifth of a pixel."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One line or area of a body: its corners in metres, and a class that gives its looks."""

    corners: tuple[Place, ...]
    kind: str
    shape: Shape = "line"
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Body:
    """Strokes that move together. One pose: it stands still."""

    strokes: tuple[Stroke, ...]
    poses: tuple[Pose, ...] = ((0.0, 0.0, 0.0, 1.0),)


@dataclass(frozen=True, slots=True)
class Figure:
    """What one cylinder and its linkage look like. `says` is for those who do not see it, `drives` names the linkage.
    """

    cylinder: str
    bodies: tuple[Body, ...]
    says: str
    drives: str = ""


def drawn(figure: Figure, scale_length_m: float, scale_says: str) -> str:
    """The SVG element, with a bar that shows how long `scale_length_m` is where there is room for it."""
    low_x, low_y, high_x, high_y = _bounds(figure.bodies)
    wide, high = max(high_x - low_x, 1e-3), max(high_y - low_y, 1e-3)
    room = HEIGHT - 24
    factor = min((WIDTH - 2 * EDGE) / wide, (room - 2 * EDGE) / high)
    left = (WIDTH - wide * factor) / 2 - low_x * factor
    bottom = EDGE + (room - 2 * EDGE + high * factor) / 2 + low_y * factor
    parts = [_body(body, figure.cylinder, factor, (left, bottom)) for body in figure.bodies]
    parts.append(_bar(scale_length_m * factor, scale_says))
    return tag("svg", {
        "viewBox": f"0 0 {number(WIDTH)} {number(HEIGHT)}", "class": "machine", "role": "img",
        "aria-label": figure.says,
    }, *parts)  # fmt: skip


def _bar(length: float, says: str) -> str:
    """A bar of the drawing's scale in the lower left corner; the number beside it."""
    y = HEIGHT - 9
    if not 8 <= length <= WIDTH - 110:
        return ""
    end = EDGE + length
    path = f"M{number(EDGE)} {number(y - 4)}v8m0-4H{number(end)}m0-4v8"
    return tag("path", {"d": path, "class": "scale-bar"}) + text((end + 6, y + 5), says, "scale-text")


def _bounds(bodies: Iterable[Body]) -> tuple[float, float, float, float]:
    places = [place for body in bodies for pose in body.poses for stroke in body.strokes
              for place in _reach(stroke, pose)]
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return min(xs), min(ys), max(xs), max(ys)


def _reach(stroke: Stroke, pose: Pose) -> Iterable[Place]:
    for corner in stroke.corners:
        x, y = placed(corner, pose)
        r = stroke.radius
        yield from ((x - r, y - r), (x + r, y + r))


def placed(corner: Place, pose: Pose) -> Place:
    """Where a corner of a body is, with the body in a pose.

    >>> [round(value, 9) for value in placed((1.0, 0.0), (2.0, 0.0, math.pi / 2, 3.0))]
    [2.0, 3.0]
    """
    x, y, angle, stretch = pose
    cos, sin = math.cos(angle), math.sin(angle)
    along, across = corner[0] * stretch, corner[1]
    return x + along * cos - across * sin, y + along * sin + across * cos


def _body(body: Body, cylinder: str, factor: float, origin: Place) -> str:
    inside = "".join(_strokes(body.strokes, factor))
    poses = [_in_units(pose, factor, origin) for pose in fewest(body, NOT_SEEN / factor)]
    attributes: dict[str, str | float] = {"transform": transform(poses[0])}
    if len(poses) > 1:
        attributes["data-rod"] = cylinder
        attributes["data-poses"] = poses_text(poses)
    return tag("g", attributes, inside)


def fewest(body: Body, within_m: float) -> Sequence[Pose]:
    """Evenly spread poses, as few as leave no corner of the body further off than said from where all of them have it.
    """
    last = len(body.poses) - 1
    corners = [corner for stroke in body.strokes for corner in stroke.corners]
    for steps in range(1, last):
        few = body.poses[:: last // steps]
        if last % steps == 0 and all(
            math.dist(placed(corner, between(few, at / last)), placed(corner, pose)) <= within_m
            for at, pose in enumerate(body.poses) for corner in corners
        ):
            return few
    return body.poses


def between(poses: Sequence[Pose], fraction: float) -> Pose:
    """The pose at a place of the rod: evenly between the two next to it, angles the short way round.

    >>> between([(0.0, 0.0, 3.0, 1.0), (2.0, 0.0, -3.0, 1.0)], 0.5)
    (1.0, 0.0, 3.141592653589793, 1.0)
    """
    place = fraction * (len(poses) - 1)
    low = min(int(place), len(poses) - 2)
    (x0, y0, angle, stretch0), (x1, y1, then, stretch1) = poses[low], poses[low + 1]
    part, turn = place - low, math.remainder(then - angle, math.tau)
    return (x0 + (x1 - x0) * part, y0 + (y1 - y0) * part, angle + turn * part, stretch0 + (stretch1 - stretch0) * part)


def poses_text(poses: Sequence[Pose]) -> str:
    """Poses in drawing units and degrees, as the script reads them: x; y; angle; stretch, each of them once where it
    stays, and a stretch of 1 left out.

    >>> poses_text([(15.0, 0.0, 0.0, 1.0), (71.04, 0.0, 0.0, 1.0)])
    '15,71;0;0'
    """
    rows = [[number(value) for value in row] for row in zip(*poses, strict=True)]
    rows[:2] = [[number(round(value, 1)) for value in row] for row in list(zip(*poses, strict=True))[:2]]
    said = [",".join(row if len(set(row)) > 1 else row[:1]) for row in rows]
    return ";".join(said[:3] if said[3] == "1" else said)


def transform(pose: Sequence[float]) -> str:
    """A pose in drawing units and degrees, as SVG says it."""
    x, y, degrees, stretch = (number(value) for value in pose)
    turned = f" rotate({degrees})" if degrees != "0" else ""
    scaled = f" scale({stretch} 1)" if stretch != "1" else ""
    return f"translate({x} {y}){turned}{scaled}"


def _in_units(pose: Pose, factor: float, origin: Place) -> Pose:
    x, y, angle, stretch = pose
    return origin[0] + x * factor, origin[1] - y * factor, -math.degrees(angle), stretch


def _strokes(strokes: Sequence[Stroke], factor: float) -> Iterable[str]:
    """Circles one by one; the lines of one kind that follow each other as one path."""
    for (kind, round_), alike in groupby(strokes, key=lambda one: (one.kind, one.shape == "circle")):
        if round_:
            for stroke in alike:
                (x, y), = stroke.corners
                yield tag("circle", {"cx": _near(x * factor), "cy": _near(-y * factor),
                                     "r": _near(max(stroke.radius * factor, 2.5)), "class": kind})
        else:
            yield tag("path", {"d": "".join(_path(stroke, factor) for stroke in alike), "class": kind})


def _path(stroke: Stroke, factor: float) -> str:
    corners = [(x * factor, -y * factor) for x, y in stroke.corners]
    if stroke.shape == "zigzag":
        corners = _zigzag(corners[0], corners[1])
    path = "M" + "L".join(f"{_near(x)} {_near(y)}" for x, y in corners)
    return path + ("z" if stroke.shape == "area" else "")


def _near(value: float) -> str:
    """To a tenth of a unit, which is less than a fifth of a pixel."""
    return number(round(value, 1))


def _zigzag(begin: Place, end: Place, turns: int = 5, half: float = 5.0) -> list[Place]:
    """A spring along the x axis of its body."""
    (x0, y0), (x1, _) = begin, end
    step = (x1 - x0) / (2 * turns)
    middle = [(x0 + step * (2 * turn + 1), y0 + (half if turn % 2 else -half)) for turn in range(turns)]
    return [begin, *middle, end]
