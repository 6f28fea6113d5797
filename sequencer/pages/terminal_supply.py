"""What the supply of a dry run did -> lanes (pressures by height, a compressor while it runs) and words below them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sequencer.dryrun.timeline import Series, Timeline
from sequencer.pages.terminal_axis import Scale
from sequencer.pages.terminal_lanes import Lane
from sequencer.pages.terminal_marks import Marks
from sequencer.pages.terminal_sample import Line
from sequencer.units import UNITS, say

_FLAT = 0.01
"""A pressure that moves by less than this share of itself is drawn as if it had moved so much, not as if it jumped."""


def supply_lanes(timeline: Timeline, scale: Scale, marks: Marks) -> Iterator[Lane]:
    """A lane for each pressure, from the lowest to the highest value of the whole run, and one for each compressor."""
    for series in timeline.series:
        line = Line([(us / 1000, value) for us, value in series.points])
        columns = [line.column(*scale.edges(column)) for column in range(scale.columns)]
        if series.what == "runs":
            cells = "".join(marks.on if seen.most > 0 else " " for seen in columns)
            yield Lane(f"{series.of} runs", "compressor", cells)
        elif series.what == "pressure":
            low, high = _range(series)
            cells = "".join(marks.height((seen.least - low) / (high - low)) for seen in columns)
            yield Lane(f"{series.of} {_short(low, series)}-{_short(high, series)} {series.unit}", "pressure", cells)


def supply_words(timeline: Timeline) -> Iterator[str]:
    """Where each pressure stood, how low it got and when, and how often a compressor ran."""
    for series in timeline.series:
        if series.what == "pressure":
            us, least = min(series.points, key=lambda point: point[1])
            first, last = series.points[0][1], series.points[-1][1]
            yield (f"{series.of}: {_said(first, series)} at first, least {_said(least, series)} at {us / 1e6:.2f} s, "
                   f"{_said(last, series)} at the end")
        elif series.what == "runs":
            on = sum((then - us) / 1e6 for (us, value), (then, _) in pairwise(series.points) if value > 0)
            yield f"{series.of}: the compressor runs for {on:.1f} s in all" if on else (
                f"{series.of}: the compressor does not run")
    if len(timeline.drawn) > 1:
        most = sorted((one for one in timeline.drawn if one.std_l > 0), key=lambda one: -one.std_l)
        yield "free air in L: " + ", ".join(f"{one.who} {one.std_l:.2f}" for one in most)


def _range(series: Series) -> tuple[float, float]:
    values = [value for _, value in series.points]
    low, high = min(values), max(values)
    return min(low, high - _FLAT * abs(high) - 1.0), high


def _short(value: float, series: Series) -> str:
    """Three figures without the unit, for the name of a lane."""
    return f"{value / float(UNITS[series.unit].factor):.3g}"


def _said(value: float, series: Series) -> str:
    return say(value, UNITS[series.unit])
