"""A timeline -> the lanes of the page, as plain values for its script.

A lane has `key` (its kind and whole name, the same from run to run), `kind`, `name`, `of` (the whole name), `label`
(what people call it), `says` (for those who do not see it), and by kind

sensor    asked, spans        somebody is on it; what the board sees of that. (gap, length)
scare     spans, waits        runs (gap, length, 1 where cut off); (gap, length) of waits for a sensor; `idle`
valve     asked, spans        coils (gap, length, 1 out 2 back); the way that the spool stands (gap, length, way);
                              `drives`: a cylinder is on it
rod       asked, curve        where it is sent (gap, length, way); 0.1 ms and `grain` of the stroke, as steps;
                              `goes`: of each motion in words, how what the rod carries went
lamp      edges               (tick as step, level 0 to 255, ticks that it takes)
speaker   asked, spans        its outputs; clips (gap, length, 1 where cut off, index of `words`)
switched  asked               when its output is on (gap, length)
board     spans               (gap, length, number of the mode)
series    curve               0.1 ms and `grain` of `unit`, as steps; `low`, `high`, `ticks` and `limits` of its scale;
                              `second`: that at the rod end, where `curve` is that at the cap end of a cylinder

Ways are numbers: 0 home, 1 out, 2 holds, 3 vented. Times are ticks of 1 ms.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any, NamedTuple

from sequencer.dryrun.pressures import ENDS
from sequencer.dryrun.timeline import Device, OutputInfo, Sent, Series, Timeline, Track
from sequencer.pages.drawing.scale import spread, ticks
from sequencer.pages.html.pack import curve_of, gaps_of, steps_of
from sequencer.pages.html.window import Window
from sequencer.pages.stretches import Stretch, clip_stretches, held_stretches, run_stretches
from sequencer.pages.terminal_events import say_end_run
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve
from sequencer.show import Show
from sequencer.steps.events import ModeChanged, OutputEdge
from sequencer.units import UNITS, say

Lane = dict[str, Any]

WAYS = {"home": 0, "out": 1, "holds": 2, "vented": 3}
GRAIN = 0.00025
"""Of the stroke: a quarter of a thousandth."""
TOLERANCE = 0.0025
"""How far a thinned curve may be off, as a share of its range: half a pixel of a curve 200 pixels high."""
RUNS = "runs"
"""The quantity of a timeline that is no curve: a compressor, above 0 while it runs."""
YARD, SHARED = "", "supply"
"""The groups of what stands in no prop, and of what all share: air and power."""


class Group(NamedTuple):
    """Lanes that stand together. `air`: they are the pressures in the cylinders of the prop `name`."""

    name: str
    lanes: list[Lane]
    air: bool = False


def lanes_of(timeline: Timeline, show: Show, window: Window) -> list[Group]:
    """Sensors, scares, what all share, then the devices prop by prop, each prop with its pressures behind it."""
    first = [
        Group("sensors", list(_sensors(timeline, show, window))),
        Group("scares", [_board(timeline, window), *_scares(timeline, show, window)]),
    ]
    shared: list[Lane] = []
    props: dict[str, list[Lane]] = {}
    for lane in _devices(timeline, show, window):
        props.setdefault(lane["of"].rpartition(".")[0] or YARD, []).append(lane)
    air: dict[str, list[Lane]] = {}
    for of, alike in groupby(timeline.series, key=lambda one: (one.of, one.what in ENDS)):
        prop, curves, label = of[0].rpartition(".")[0], tuple(alike), _label(show, of[0])
        if of[1]:
            air.setdefault(prop, []).append(chamber_lane(curves, label, window))
            continue
        own = props[prop] if prop and prop in props else shared
        own += [series_lane(one, label, window) for one in curves]
    last = [one for name, lanes in props.items() for one in (Group(name, lanes), Group(name, air.get(name, []), True))]
    return [group for group in [*first, Group(SHARED, shared), *last] if group.lanes]


def _lane(kind: str, whole: str, label: str, says: str, **more: Any) -> Lane:
    name = whole.rpartition(".")[2]
    return {"key": f"{kind}:{whole}", "kind": kind, "name": name, "of": whole, "label": label, "says": says, **more}


def _label(show: Show, name: str) -> str:
    placed = show.parts.get(name)
    return (placed.part.label or "") if placed else ""


def _sensors(timeline: Timeline, show: Show, window: Window) -> Iterator[Lane]:
    held = held_stretches(timeline)
    for one in timeline.yard.inputs:
        asked = [(t.begins, t.ends) for t in timeline.triggers if t.sensor == one.sensor]
        spans = _plain(held[one.index])
        yield _lane(
            "sensor", one.sensor, _label(show, one.sensor), f"tripped {_times(len(spans))}",
            asked=gaps_of(window.stretches(sorted(asked))), spans=gaps_of(window.stretches(spans)),
            sees=one.sees or "",
        )  # fmt: skip


def _board(timeline: Timeline, window: Window) -> Lane:
    changes = [event for event in timeline.events if isinstance(event, ModeChanged)]
    ends = [*(event.tick for event in changes[1:]), timeline.ticks]
    rows = [(event.tick, end, int(event.mode)) for event, end in zip(changes, ends, strict=True)]
    says = ", then ".join(event.mode.name.lower() for event in changes)
    return _lane("board", "board", "", says, spans=gaps_of(window.stretches(rows)))


def _scares(timeline: Timeline, show: Show, window: Window) -> Iterator[Lane]:
    runs = run_stretches(timeline)
    labels = {routine.name: routine.label or "" for routine in show.routines}
    for one in timeline.yard.routines:
        rows = [(s.begin, s.end, int(s.cut)) for s in runs[one.index]]
        yield _lane(
            "scare", one.name, labels.get(one.name, ""), f"runs {_times(len(rows))}",
            spans=gaps_of(window.stretches(rows)), idle=int(one.idle), routine=one.index, waits=[],
        )  # fmt: skip


def _devices(timeline: Timeline, show: Show, window: Window) -> Iterator[Lane]:
    edges: dict[int, list[OutputEdge]] = defaultdict(list)
    for edge in timeline.edges:
        edges[edge.output].append(edge)
    by_device: dict[tuple[Device, str], list[OutputInfo]] = {}
    for one in timeline.yard.outputs:
        by_device.setdefault((one.kind, one.device), []).append(one)
    for (kind, name), outputs in by_device.items():
        label = _label(show, name)
        if kind is Device.LAMP:
            rows = window.edges(edges[outputs[0].index], outputs[0].safe)
            yield _lane("lamp", name, label, f"changes {_times(len(rows) - 1)}", edges=steps_of(rows))
            continue
        on = [(begin, end, number) for number, one in enumerate(outputs, 1)
              for begin, end in _on(edges[one.index], one.safe, timeline.ticks)]
        rows = window.stretches(sorted(on))
        if kind is Device.COIL:
            yield _valve(timeline, show, window, name, gaps_of(rows))
            yield from (_rod(timeline, track, show, window) for track in timeline.tracks if track.valve == name)
        elif kind is Device.SPEAKER:
            yield _speaker(timeline, window, name, label, gaps_of((b, e) for b, e, _ in rows))
        else:
            yield _lane("switched", name, label, f"on {_times(len(rows))}", asked=gaps_of((b, e) for b, e, _ in rows))


def _valve(timeline: Timeline, show: Show, window: Window, name: str, asked: list[int]) -> Lane:
    sent = [one for one in timeline.sent if one.valve == name]
    rows = spool_stands(sent, show, name, timeline.ticks)
    says = f"shifts {_times(max(len(rows) - 1, 0))}"
    drives = int(any(track.valve == name for track in timeline.tracks))
    return _lane("valve", name, _label(show, name), says, drives=drives, asked=asked,
                 spans=gaps_of(window.stretches(rows)))


def spool_stands(sent: Sequence[Sent], show: Show, name: str, ticks: int) -> list[tuple[int, int, int]]:
    """(begin, end, way): the spool is over once the valve has answered and shifted; until then it stands as it did."""
    placed = show.parts.get(name)
    valve = placed.part if placed is not None and isinstance(placed.part, Valve) else None
    turns: list[tuple[int, int]] = []
    for one in sent:
        at = one.tick if valve is None or not turns else one.tick + _shifts_in(valve, one.way)
        while turns and turns[-1][0] >= at:
            turns.pop()
        if not turns or turns[-1][1] != WAYS[one.way]:
            turns.append((at, WAYS[one.way]))
    ends = [*(at for at, _ in turns[1:]), ticks]
    return [(at, end, way) for (at, way), end in zip(turns, ends, strict=True)]


def _shifts_in(valve: Valve, way: str) -> int:
    """Ticks from the command until the spool is over; it goes back by its spring where a coil lets go."""
    lets_go = valve.back_pin is None and (way == "out") == (valve.unpowered in ("extends", "open"))
    lets_go = lets_go or way in ("holds", "vented")
    return round(((valve.releases if lets_go else valve.responds).si + valve.shift.si) * 1000)


def _rod(timeline: Timeline, track: Track, show: Show, window: Window) -> Lane:
    placed = show.parts.get(track.cylinder)
    stroke = placed.part.stroke.text if placed is not None and isinstance(placed.part, Cylinder) else ""
    sent = [one for one in timeline.sent if one.valve == track.valve]
    ends = [*(one.tick for one in sent[1:]), timeline.ticks]
    asked = [(one.tick, end, WAYS[one.way]) for one, end in zip(sent, ends, strict=True)]
    points = window.points([(us / 1000, fraction) for us, fraction in track.points])
    moves = [(one.leaves, one.ends, int(one.toward == "out"), int(one.cut)) for one in track.movements]
    return _lane(
        "rod", track.cylinder, _label(show, track.cylinder), f"{len(moves)} motions" if len(moves) != 1 else "1 motion",
        stroke=stroke, asked=gaps_of(window.stretches(_joined(asked))), grain=GRAIN,
        curve=curve_of(points, GRAIN, TOLERANCE), moves=gaps_of(window.stretches(moves)), lands=[],
        goes=["; ".join(say_end_run(run, one.cylinder) for run in one.carries) for one in track.movements
              if window.stretches([(one.leaves, one.ends)])],
    )  # fmt: skip


def series_lane(series: Series, label: str, window: Window) -> Lane:
    """A curve in the author's unit, on a scale that holds all of it and all of its limits; what `runs` is on or off.
    """
    name = f"{series.of} {series.what}"
    if series.what == RUNS:
        on = window.stretches(_above_zero(series))
        return _lane("switched", name, label, f"on {_times(len(on))}", asked=gaps_of(on))
    lane, _ = _on_scale([series], name, label, window)
    return lane


def chamber_lane(ends: Sequence[Series], label: str, window: Window) -> Lane:
    """The pressures in one cylinder: at the cap end and, where there is air, at the rod end, on one scale."""
    lane, curves = _on_scale(ends, f"{ends[0].of} pressure", label, window)
    most = ", ".join(f"at the {end.what[:7]} up to {say(max(p for _, p in points), UNITS[end.unit])}"
                     for end, points in zip(ends, curves, strict=True))
    return {**lane, "says": f"pressure {most}"}


def _on_scale(
    alike: Sequence[Series], name: str, label: str, window: Window
) -> tuple[Lane, list[list[tuple[float, float]]]]:
    """One or two curves of one unit and the same limits; also their points within the window."""
    series = alike[0]
    unit = UNITS[series.unit]
    curves = [window.points([(us / 1000, value) for us, value in one.points]) for one in alike]
    values = [*(value for points in curves for _, value in points), *(value for _, value in series.limits)]
    # A little wider, so that neither a limit nor a curve lies on the edge.
    edge = 0.04 * (max(values) - min(values))
    least = min(values)
    low, high = spread(0.0 if -edge / 4 < least < edge else least - edge, max(values) + edge, unit, most=4)

    offset, factor = float(unit.offset), float(unit.factor)

    def shown(value: float) -> float:
        return (value - offset) / factor

    span = shown(high) - shown(low)
    grain = span / 4000
    lowest = min(value for points in curves for _, value in points)
    rows = [curve_of([(x, shown(value)) for x, value in points], grain, span * TOLERANCE) for points in curves]
    return _lane(
        "series", name, label, f"{series.what}, least {say(lowest, unit)}", unit=series.unit,
        low=shown(low), high=shown(high), grain=grain,
        curve=rows[0], **({"second": rows[1]} if len(rows) > 1 else {}),
        ticks=[[shown(tick.value), tick.label] for tick in ticks(low, high, unit, most=4)],
        limits=[[shown(value), f"{limit} {say(value, unit)}"] for limit, value in series.limits],
    ), curves  # fmt: skip


def _above_zero(series: Series) -> Iterator[tuple[int, int]]:
    """(begin, end) in ticks of where a quantity is above 0."""
    since = None
    for us, value in series.points:
        if value > 0 and since is None:
            since = round(us / 1000)
        elif value <= 0 and since is not None:
            yield since, round(us / 1000)
            since = None
    if since is not None:
        yield since, round(series.points[-1][0] / 1000)


def _joined(rows: Sequence[tuple[int, int, int]]) -> list[tuple[int, ...]]:
    """The same stretches, those that go on alike as one."""
    found: list[tuple[int, int, int]] = []
    for begin, end, way in rows:
        if found and found[-1][2] == way and found[-1][1] == begin:
            found[-1] = (found[-1][0], end, way)
        else:
            found.append((begin, end, way))
    return list(found)


def _speaker(timeline: Timeline, window: Window, name: str, label: str, asked: list[int]) -> Lane:
    words = [clip.name for clip in timeline.yard.clips if clip.speaker == name]
    played = clip_stretches(timeline, name)
    rows = [(one.begin, one.end, int(one.cut), words.index(one.word)) for one in played]
    return _lane("speaker", name, label, f"plays {_times(len(rows))}", asked=asked, words=words,
                 spans=gaps_of(window.stretches(rows)), begins=[row[0] for row in rows if row[1] > window.begin])


def _on(edges: Sequence[OutputEdge], safe: int, ticks: int) -> Iterator[tuple[int, int]]:
    """From when to when an output is not off."""
    since = 0 if safe else None
    for edge in edges:
        if edge.level and since is None:
            since = edge.tick
        elif not edge.level and since is not None:
            yield since, edge.tick
            since = None
    if since is not None:
        yield since, ticks


def _plain(stretches: Sequence[Stretch]) -> list[tuple[int, ...]]:
    return [(one.begin, one.end) for one in stretches]


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")
