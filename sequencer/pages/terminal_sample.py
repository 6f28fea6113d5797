"""Edges and corners -> what happens within one column of a drawing. Knows nothing of marks or devices."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.dryrun.levels import level_corners
from sequencer.steps.events import OutputEdge


@dataclass(frozen=True, slots=True)
class Column:
    """What a line does between two moments: its ends, its least and most, and how often it jumps."""

    first: float
    last: float
    least: float
    most: float
    jumps: int


class Line:
    """A line through (tick, value) corners; two corners of one tick are a jump. Flat before and behind."""

    def __init__(self, corners: Sequence[tuple[float, float]]) -> None:
        self._times = [time for time, _ in corners]
        self._values = [value for _, value in corners]

    @property
    def corners(self) -> list[tuple[float, float]]:
        return list(zip(self._times, self._values, strict=True))

    def at(self, time: float) -> float:
        """The value at that moment; behind the jump where there is one."""
        index = bisect_right(self._times, time) - 1
        if index < 0:
            return self._values[0]
        if index + 1 == len(self._times):
            return self._values[index]
        begin, end = self._times[index], self._times[index + 1]
        share = (time - begin) / (end - begin)
        return self._values[index] + (self._values[index + 1] - self._values[index]) * share

    def before(self, time: float) -> float:
        """The value that the line comes to as `time` nears: before the jump where there is one."""
        index = bisect_left(self._times, time)
        if index == 0:
            return self._values[0]
        if index == len(self._times):
            return self._values[-1]
        begin, end = self._times[index - 1], self._times[index]
        share = (time - begin) / (end - begin)
        return self._values[index - 1] + (self._values[index] - self._values[index - 1]) * share

    def column(self, begin: float, end: float) -> Column:
        """What the line does from `begin` up to, not including, `end`."""
        low, high = bisect_right(self._times, begin), bisect_left(self._times, end)
        first, last = self.at(begin), self.before(end)
        inside = self._values[low:high]
        jumps = sum(
            1
            for index in range(low, high - 1)
            if self._times[index] == self._times[index + 1] and self._values[index] != self._values[index + 1]
        )
        return Column(first, last, min(first, last, *inside), max(first, last, *inside), jumps)


def levels_of(edges: Sequence[OutputEdge], start: float) -> Line:
    """The level of one output over the run, from its own edges."""
    return Line(level_corners(edges, start))
