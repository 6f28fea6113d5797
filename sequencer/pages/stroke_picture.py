"""Strokes -> a picture: the rod's place, the pressures and the flows over time, out and then back from rest."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sequencer.air.from_rig import Toward
from sequencer.air.gas import std_l_of_kg
from sequencer.air.motion import Trace
from sequencer.pages.drawing.chart import Chart, picture
from sequencer.pages.drawing.events import Event
from sequencer.pages.drawing.panel import Curve, Level, Panel
from sequencer.pages.measures import Measures, measures_of, time_said
from sequencer.pages.stroke_text import head_of, limit_rows, line_of
from sequencer.sizing.strokes import Stroke, Strokes
from sequencer.units import UNITS

SETTLED = 0.02
"""A pressure counts as settled once it stays within this share of the supply from where it ends."""
SHORTEST_STEP_S = 1e-5
"""Flow is the change of what a chamber holds over at least this time; over less, rounding shows."""
LONGEST_WAIT = 3.0
"""At most so many times as long as a way takes is shown of it."""

Points = tuple[tuple[float, float], ...]


def stroke_picture(found: Strokes) -> str:
    """The picture as SVG text."""
    by = measures_of(found.given.cylinder.bore, found.given.regulator)
    parts = [_Part(stroke, 0.0) for stroke in found.both[:1]]
    parts.append(_Part(found.home, parts[0].ends_s))
    unit = UNITS["ms"] if parts[-1].begins_s + parts[-1].ends_s < 1.0 else UNITS["s"]
    about = (line_of(found.given), *found.given.driven.words, *limit_rows(found))
    panels = (_place(parts, by), _pressures(parts, found, by), _flows(parts, by))
    return picture(Chart(head_of(found.given), about, "time after the valve is sent out", unit, panels,
                         tuple(_events(parts))))


class _Part:
    """One way within the picture: it begins at `begins_s` and is shown for `ends_s`."""

    def __init__(self, stroke: Stroke, begins_s: float) -> None:
        self.stroke, self.begins_s = stroke, begins_s
        self.trace: Trace = stroke.trace
        self.ends_s = _shown_s(stroke)

    def points(self, values: Iterator[tuple[float, float]]) -> Points:
        return tuple((self.begins_s + t, value) for t, value in values if t <= self.ends_s)


def _shown_s(stroke: Stroke) -> float:
    """Until all has settled, but not for ever; to a round end."""
    trace, end = stroke.trace, stroke.arrives_s or stroke.trace.until_s
    last, settled = list(trace.samples())[-1], end
    for sample in trace.samples():
        off = max(abs(sample.cap_pa - last.cap_pa), abs(sample.rod_pa - last.rod_pa))
        if off > SETTLED * trace.cylinder.supply_pa:
            settled = max(settled, sample.t_s)
    shown = min(settled * 1.1, end * LONGEST_WAIT, trace.until_s)
    step = next(step for step in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0) if step * 20 >= shown)
    return min((shown // step + 1) * step, trace.until_s)


def _place(parts: list[_Part], by: Measures) -> Panel:
    whole = tuple(point for part in parts for point in
                  part.points((sample.t_s, sample.x_m) for sample in part.trace.samples()))
    return Panel("rod", by.length, (Curve("place of the rod", whole),))


def _pressures(parts: list[_Part], found: Strokes, by: Measures) -> Panel:
    cap: list[tuple[float, float]] = []
    rod: list[tuple[float, float]] = []
    for part in parts:
        outside = part.trace.cylinder.ambient_pa
        cap += part.points((sample.t_s, sample.cap_pa - outside) for sample in part.trace.samples())
        rod += part.points((sample.t_s, sample.rod_pa - outside) for sample in part.trace.samples())
    level = Level(f"regulator, {found.given.regulator}", found.given.regulator.si)
    single = found.given.cylinder.acting == "single"
    curves = (Curve("cap end", tuple(cap)),) + (() if single else (Curve("rod end", tuple(rod)),))
    return Panel("pressure", by.pressure, curves, (level,))


def _flows(parts: list[_Part], by: Measures) -> Panel:
    into = tuple(point for part in parts for point in part.points(_flow(part.trace, "mA")))
    gases = parts[0].trace.run.make_up.gases()
    if "mB" not in gases:
        return Panel("flow", by.flow, (Curve("into the cap end", into),))
    also = tuple(point for part in parts for point in part.points(_flow(part.trace, "mB")))
    return Panel("flow", by.flow, (Curve("into the cap end", into), Curve("into the rod end", also)))


def _flow(trace: Trace, gas: str) -> Iterator[tuple[float, float]]:
    """Free air into a chamber, m3/s (20 C, 100 kPa): what it holds, from sample to sample."""
    column = 3 + trace.run.make_up.gases().index(gas)
    kept = [trace.run.samples[0]]
    for sample in trace.run.samples[1:]:
        if sample[0] - kept[-1][0] >= SHORTEST_STEP_S:
            kept.append(sample)
    for one, then in pairwise(kept):
        gained = std_l_of_kg(then[column] - one[column]) / 1000
        yield (one[0] + then[0]) / 2, gained / (then[0] - one[0])


_VERBS: dict[Toward, tuple[str, str, str]] = {
    "out": ("valve out", "moves", "out"), "home": ("valve back", "moves", "home"),
}


def _events(parts: list[_Part]) -> Iterator[Event]:
    for part in parts:
        valve, starts, ends = _VERBS[part.stroke.toward]
        if part.begins_s > 0:
            yield Event(valve, part.begins_s)
        if part.stroke.lead_s is not None:
            yield Event(f"{starts} after {time_said(part.stroke.lead_s)}", part.begins_s + part.stroke.lead_s)
        if part.stroke.arrives_s is not None:
            yield Event(f"{ends} after {time_said(part.stroke.arrives_s)}", part.begins_s + part.stroke.arrives_s)
