"""A timeline -> lanes: for each device its name, its kind, and one mark a column.

One function a kind of lane. Order, headings and the frame around the lanes are `terminal`'s.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sequencer.dryrun.timeline import Device, Timeline, Track
from sequencer.pages.stretches import Stretch, clip_stretches, held_stretches, run_stretches
from sequencer.pages.terminal_axis import Scale
from sequencer.pages.terminal_marks import Marks
from sequencer.pages.terminal_sample import Line, levels_of
from sequencer.steps.events import OutputEdge, Skipped

_NEAR = 0.01


@dataclass(frozen=True, slots=True)
class Lane:
    """One line of the drawing. `kind` chooses colour and legend; a blank cell lets the grid through."""

    name: str
    kind: str
    cells: str


def sensor_lanes(timeline: Timeline, scale: Scale, marks: Marks) -> Iterator[Lane]:
    held = held_stretches(timeline)
    for one in timeline.yard.inputs:
        cells = [" "] * scale.columns
        for stretch in held[one.index]:
            _fill(cells, scale, stretch, marks.tripped)
        yield Lane(one.sensor, "sensor", "".join(cells))


def scare_lanes(timeline: Timeline, scale: Scale, marks: Marks) -> Iterator[Lane]:
    runs = run_stretches(timeline)
    skipped = defaultdict(list)
    for event in timeline.events:
        if isinstance(event, Skipped):
            skipped[event.routine].append(event.tick)
    for one in timeline.yard.routines:
        cells = [" "] * scale.columns
        for stretch in runs[one.index]:
            _fill(cells, scale, stretch, marks.idles if one.idle else marks.runs)
        for stretch in runs[one.index]:
            _put(cells, scale, stretch.begin, marks.begins)
            if stretch.end < timeline.ticks:
                _put(cells, scale, stretch.end, marks.killed if stretch.cut else marks.ends)
        for tick in skipped[one.index]:
            _put(cells, scale, tick, marks.skipped)
        yield Lane(one.name, "idle" if one.idle else "scare", "".join(cells))


def device_lanes(timeline: Timeline, scale: Scale, marks: Marks) -> Iterator[Lane]:
    """Lamps, switched outputs, valves with their cylinders, speakers; in the order of the outputs."""
    edges: dict[int, list[OutputEdge]] = defaultdict(list)
    for edge in timeline.edges:
        edges[edge.output].append(edge)
    lines = {one.index: levels_of(edges[one.index], one.safe) for one in timeline.yard.outputs}
    seen = set()
    for one in timeline.yard.outputs:
        if (one.kind, one.device) in seen:
            continue
        seen.add((one.kind, one.device))
        same = [
            other for other in timeline.yard.outputs if (other.kind, other.device) == (one.kind, one.device)
        ]
        if one.kind is Device.COIL:
            coils = {other.role: lines[other.index] for other in same}
            yield _coil_lane(one.device, coils, scale, marks)
            for track in timeline.tracks:
                if track.valve == one.device:
                    yield cylinder_lane(track, scale, marks)
        elif one.kind is Device.SPEAKER:
            yield _clip_lane(timeline, one.device, scale, marks)
        elif one.kind is Device.LAMP:
            yield Lane(one.device, "lamp", _lamp_cells(lines[one.index], scale, marks))
        else:
            yield Lane(one.device, "switched", _on_cells(lines[one.index], scale, marks.on))


def cylinder_lane(track: Track, scale: Scale, marks: Marks) -> Lane:
    line = Line([(us / 1000, share) for us, share in track.points])
    cells = []
    for column in range(scale.columns):
        seen = line.column(*scale.edges(column))
        step = seen.last - seen.first
        if seen.most - seen.least > abs(step) + _NEAR:
            cells.append(marks.there_and_back)
        elif abs(step) > 1e-6:
            cells.append(marks.going_out if step > 0 else marks.going_home)
        elif seen.last <= _NEAR:
            cells.append(marks.home)
        else:
            cells.append(marks.out if seen.last >= 1 - _NEAR else marks.between)
    return Lane(track.cylinder, "cylinder", "".join(cells))


def _coil_lane(valve: str, coils: dict[str, Line], scale: Scale, marks: Marks) -> Lane:
    if len(coils) == 1:
        (line,) = coils.values()
        return Lane(valve, "coil", _on_cells(line, scale, marks.on))
    out = _on_cells(coils["on"], scale, marks.coil_out)
    back = _on_cells(coils["back on"], scale, marks.coil_home)
    both = (
        marks.coil_both if a != " " and b != " " else a if a != " " else b
        for a, b in zip(out, back, strict=True)
    )
    return Lane(valve, "two coils", "".join(both))


def _on_cells(line: Line, scale: Scale, mark: str) -> str:
    columns = (line.column(*scale.edges(column)) for column in range(scale.columns))
    return "".join(mark if seen.most > 0 else " " for seen in columns)


def _lamp_cells(line: Line, scale: Scale, marks: Marks) -> str:
    cells = []
    for column in range(scale.columns):
        seen = line.column(*scale.edges(column))
        if seen.jumps >= 2 and seen.most > 0:
            cells.append(marks.quick)
        else:
            cells.append(marks.shade(seen.most / 255) if seen.most > 0 else " ")
    return "".join(cells)


def _clip_lane(timeline: Timeline, speaker: str, scale: Scale, marks: Marks) -> Lane:
    cells = [" "] * scale.columns
    for stretch in clip_stretches(timeline, speaker):
        _fill(cells, scale, stretch, marks.plays)
        low, high = _columns(scale, stretch)
        if low is None or high is None:
            continue
        _put(cells, scale, stretch.begin, marks.clip_begins)
        if stretch.end <= scale.end and high > low:
            cells[high] = marks.killed if stretch.cut else marks.clip_ends
        room = high - low - 1
        name = stretch.word if len(stretch.word) <= room else stretch.word[: max(room, 0)]
        cells[low + 1 : low + 1 + len(name)] = name
    return Lane(speaker, "speaker", "".join(cells))


def _columns(scale: Scale, stretch: Stretch) -> tuple[int | None, int | None]:
    """First and last column that a stretch touches; Nones where it lies outside the drawing."""
    begin, end = max(stretch.begin, scale.begin), min(max(stretch.end, stretch.begin + 1), scale.end)
    if begin >= end:
        return None, None
    return scale.column_of(begin), scale.column_of(end - 1)


def _fill(cells: list[str], scale: Scale, stretch: Stretch, mark: str) -> None:
    low, high = _columns(scale, stretch)
    if low is not None and high is not None:
        cells[low : high + 1] = mark * (high - low + 1)


def _put(cells: list[str], scale: Scale, tick: int, mark: str) -> None:
    column = scale.column_of(tick)
    if column is not None:
        cells[column] = mark


def names_fit(lanes: Sequence[Lane], most: int) -> int:
    """Columns that the names need, up to `most`."""
    return min(max((len(lane.name) for lane in lanes), default=0), most)
