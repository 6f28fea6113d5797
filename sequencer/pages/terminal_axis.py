"""A stretch of ticks and a number of columns -> the time axis: round numbers, as far apart as they can be
read."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.pages.terminal_marks import Marks

_LEAST_GAP = 8
_STEPS = (
    1,
    2,
    5,
    10,
    20,
    50,
    100,
    200,
    500,
    1000,
    2000,
    5000,
    10_000,
    15_000,
    30_000,
    60_000,
    120_000,
    300_000,
    600_000,
    1_800_000,
    3_600_000,
    7_200_000,
)
"""Gaps between two labels, in ticks: round in seconds below a minute, in minutes and hours above."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Column `n` stands for the ticks from `begin + n * width` on; `width` is in ticks and may be a
    fraction."""

    begin: int
    end: int
    columns: int

    @property
    def width(self) -> float:
        return (self.end - self.begin) / self.columns

    def edges(self, column: int) -> tuple[float, float]:
        return self.begin + column * self.width, self.begin + (column + 1) * self.width

    def column_of(self, tick: float) -> int | None:
        """The column in which a tick falls, or None outside the drawing."""
        if not self.begin <= tick < self.end:
            return None
        return min(int((tick - self.begin) / self.width), self.columns - 1)

    @property
    def gap(self) -> int:
        """Ticks between two labels."""
        return next((step for step in _STEPS if step / self.width >= _LEAST_GAP), _STEPS[-1])

    def ticks(self) -> tuple[int, ...]:
        """The ticks that carry a label."""
        first = -(-self.begin // self.gap) * self.gap
        return tuple(range(first, self.end, self.gap))

    def grid(self) -> frozenset[int]:
        return frozenset(column for tick in self.ticks() if (column := self.column_of(tick)) is not None)


def axis_lines(scale: Scale, marks: Marks) -> tuple[str, str]:
    """The line of labels and the ruler below it."""
    labels = [" "] * scale.columns
    ruler = [marks.rule] * scale.columns
    for tick in scale.ticks():
        column = scale.column_of(tick)
        assert column is not None
        ruler[column] = marks.tick
        label = label_of(tick, scale.gap)
        if column + len(label) <= scale.columns:
            labels[column : column + len(label)] = label
    return "".join(labels).rstrip(), "".join(ruler)


def label_of(tick: int, gap: int) -> str:
    """A moment on the axis, with as many figures as the gap needs.

    >>> label_of(2500, 500), label_of(90_000, 30_000), label_of(12_000, 2000)
    ('2.5 s', '1:30 min', '12 s')
    """
    if gap >= 15_000 and tick >= 60_000:
        minutes, rest = divmod(tick // 1000, 60)
        return f"{minutes}:{rest:02d} min" if minutes < 60 else f"{minutes // 60}:{minutes % 60:02d} h"
    figures = 0 if gap >= 1000 else 1 if gap >= 100 else 2 if gap >= 10 else 3
    return f"{tick / 1000:.{figures}f} s"
