"""The part of a dry run that a page shows -> stretches, edges and curves cut to it, with what stood before."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sequencer.pages.html.pack import Point
from sequencer.pages.terminal_sample import levels_of
from sequencer.steps.events import OutputEdge


@dataclass(frozen=True, slots=True)
class Window:
    """Ticks from `begin` up to, not including, `end`."""

    begin: int
    end: int

    def holds(self, tick: float) -> bool:
        return self.begin <= tick < self.end

    def stretches(self, rows: Iterable[tuple[int, ...]]) -> list[tuple[int, ...]]:
        """(begin, end, more...) as far as they lie inside.

        >>> Window(10, 20).stretches([(0, 5), (8, 12), (18, 30)])
        [(10, 12), (18, 20)]
        """
        cut = ((max(row[0], self.begin), min(row[1], self.end), *row[2:]) for row in rows)
        return [row for row in cut if row[0] < row[1]]

    def edges(self, edges: Sequence[OutputEdge], safe: int) -> list[tuple[int, int, int]]:
        """(tick, level, ticks of the fade), beginning with how the output stands when the window opens."""
        inside = [edge for edge in edges if self.holds(edge.tick)]
        first = (self.begin, safe, 0)
        if self.begin:
            before = [edge for edge in edges if edge.tick < self.begin]
            first = (self.begin, round(levels_of(edges, safe).at(self.begin)), 0)
            if before and before[-1].tick + before[-1].over > self.begin and not _at(inside, self.begin):
                going = before[-1]
                return [first, (self.begin, going.level, going.tick + going.over - self.begin), *_rows(inside)]
        return [first, *_rows(inside)]

    def points(self, points: Sequence[Point]) -> list[Point]:
        """The (ms, value) corners of a line inside, with its places at both ends."""
        times = [x for x, _ in points]
        inside = points[bisect_left(times, self.begin) : bisect_right(times, self.end)]
        found = list(inside)
        if not inside or inside[0][0] != self.begin:
            found.insert(0, (float(self.begin), _value(points, times, self.begin)))
        if found[-1][0] != self.end:
            found.append((float(self.end), _value(points, times, self.end)))
        return found


def _at(edges: Sequence[OutputEdge], tick: int) -> bool:
    return bool(edges) and edges[0].tick == tick


def _rows(edges: Iterable[OutputEdge]) -> list[tuple[int, int, int]]:
    return [(edge.tick, edge.level, edge.over) for edge in edges]


def _value(points: Sequence[Point], times: Sequence[float], x: float) -> float:
    index = bisect_right(times, x)
    if index == 0:
        return points[0][1]
    if index == len(points):
        return points[-1][1]
    (x0, y0), (x1, y1) = points[index - 1], points[index]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
