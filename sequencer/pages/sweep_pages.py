"""Strokes over a range of one input -> a table for a terminal and a picture."""

from __future__ import annotations

import math
from collections.abc import Callable

from sequencer.pages.drawing.chart import Chart, picture
from sequencer.pages.drawing.panel import Curve, Panel, Spread
from sequencer.pages.measures import Measures, about_even, air_reference, air_said, measures_of, share_said, time_said
from sequencer.pages.stroke_text import head_of, line_of
from sequencer.sizing.strokes import Stroke
from sequencer.sizing.sweep import Swept
from sequencer.units import UNITS

WIDTHS = (12, 9, 12, 9, 9, 9, 8, 12)
WORDS = {"moves": "load", "lifts": "lift", "length": "tube length", "inside": "inside of the tube",
         "dead_volume": "dead volume", "critical_ratio": "critical ratio", "needle_out": "needle out",
         "needle_back": "needle back", "responds": "valve on after", "releases": "valve off after",
         "shift": "valve shifts over", "preload": "spring preload", "rate": "spring rate"}


def name_of(field: str) -> str:
    """The input as a person calls it."""
    return WORDS.get(field, field)


def sweep_rows(swept: Swept) -> list[str]:
    """The table: two lines of heads, then a line a value."""
    by = _measures(swept)
    name = name_of(swept.sweep.field)
    carried = _carried(swept)
    fast = (carried, "fastest") if carried else ("its end", "met at")
    wide = len(name) >= WIDTHS[0]
    rows = [_row("", "out", fast[0], "energy", "back", "energy", "least", "free air"),
            _row("" if wide else name, "arrives", fast[1], "there", "arrives", "there", "margin", "of both")]
    if wide:
        rows.insert(0, name)
    for value, found in zip(swept.sweep.values, swept.strokes, strict=True):
        out, home = found.both
        margin = min(out.force.margin, home.force.margin)
        rows.append(_row(value.text, time_said(out.arrives_s), _speed(out, by, carried), _energy(out),
                         time_said(home.arrives_s), _energy(home), share_said(margin) if math.isfinite(margin) else "-",
                         "-" if found.cycle_air_std_l is None else air_said(found.cycle_air_std_l, by)))
    return [*rows, "", f"free air is counted {air_reference(by)}"]


def sweep_picture(swept: Swept) -> str:
    """Times, end speeds and free air over the input, as SVG text."""
    by = _measures(swept)
    found, unit = swept.strokes, UNITS["s"]
    xs = [value.si for value in swept.sweep.values]

    def curve(name: str, values: list[float | None]) -> Curve:
        points = tuple((x, math.nan if y is None else y) for x, y in zip(xs, values, strict=True))
        return Curve(name, points, True)

    spreads = tuple(Spread(at, tuple((x, *_band(one.both[at])) for x, one in zip(xs, found, strict=True)))
                    for at in (0, 1))
    times = Panel("arrives", unit, (curve("out", [one.out.arrives_s for one in found]),
                                    curve("back", [one.home.arrives_s for one in found])), spreads=spreads)
    ends = _end_speeds(swept, by, curve)
    speeds = Panel("speed at the end", by.speed, (curve("out", [one.out.end_speed_m_s for one in found]),
                                                  curve("back", [one.home.end_speed_m_s for one in found])))
    air = Panel("free air", by.air, (curve("out and back", [_cubic_metres(one.cycle_air_std_l) for one in found]),))
    given, field = found[0].given, swept.sweep.field
    notes = [head_of(given, swept.varies), line_of(given, swept.varies), *swept.driven_words,
             f"shaded: 95 of 100 such props arrive within; free air is counted {air_reference(by)}"]
    if any(way.arrives_s is None for one in found for way in one.both):
        notes.append("where a curve has a gap or ends, the rod never arrives")
    head = f"{name_of(swept.sweep.field)} from {swept.sweep.values[0]} to {swept.sweep.values[-1]}"
    return picture(Chart(head, tuple(notes), name_of(field), swept.sweep.unit, (times, speeds, *ends, air)))


def _end_speeds(swept: Swept, by: Measures, curve: Callable[[str, list[float | None]], Curve]) -> tuple[Panel, ...]:
    """How fast the end goes of what the rod drives, where it drives anything."""
    carried = _carried(swept)
    if not carried:
        return ()
    ways = (("out", [one.out.ends[0].fastest_m_s for one in swept.strokes]),
            ("back", [one.home.ends[0].fastest_m_s for one in swept.strokes]))
    return (Panel(f"{carried}, fastest", by.speed, tuple(curve(name, list(speeds)) for name, speeds in ways)),)


def _measures(swept: Swept) -> Measures:
    said = swept.strokes[0].given
    return measures_of(said.cylinder.bore, said.regulator)


def _row(*cells: str) -> str:
    first, *rest = cells
    return f"{first:<{WIDTHS[0]}}" + "".join(f"{cell:>{width}}" for cell, width in zip(rest, WIDTHS[1:], strict=True))


def _carried(swept: Swept) -> str:
    """The first part on the rod that has an end of its own, of which a table tells the speed instead of the rod's."""
    ends, cylinder = swept.strokes[0].out.ends, swept.strokes[0].given.cylinder.name
    return next((end.part for end in ends if end.part != cylinder), "")


def _speed(stroke: Stroke, by: Measures, carried: str) -> str:
    if carried:
        return about_even(stroke.ends[0].fastest_m_s, by.speed)
    return "-" if stroke.end_speed_m_s is None else about_even(stroke.end_speed_m_s, by.speed)


def _band(stroke: Stroke) -> tuple[float, float]:
    """Between what 95 of 100 arrive; a gap where it never does."""
    low, high = stroke.fastest_s, stroke.slowest_s
    return (math.nan, math.nan) if low is None or high is None else (low, high)


def _cubic_metres(std_l: float | None) -> float | None:
    return None if std_l is None else std_l / 1000


def _energy(stroke: Stroke) -> str:
    return "-" if stroke.end_energy_j is None else f"{stroke.end_energy_j:.2f} J"
