"""A timeline -> text for a terminal: one lane a device over one time axis, a legend, the events below.

A pure function of the timeline and the view. It reads without colour, and in ASCII where the terminal knows
no more; what a device did is computed elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.dryrun.timeline import Timeline
from sequencer.pages.terminal_axis import Scale, axis_lines
from sequencer.pages.terminal_events import event_lines
from sequencer.pages.terminal_lanes import Lane, device_lanes, names_fit, scare_lanes, sensor_lanes
from sequencer.pages.terminal_marks import Marks, legend
from sequencer.pages.terminal_supply import supply_lanes
from sequencer.pages.terminal_view import LEAST_WIDTH, View

_YARD = "yard"


def draw_timeline(timeline: Timeline, view: View) -> str:
    """The whole page, without a last line end.

    Raises ValueError where the view's window holds no tick of the run, or is narrower than 40 columns.
    """
    end = _end(timeline, view)
    parts = [_head(timeline, view, end), "\n".join(_lanes(timeline, view, end))]
    parts.append("\n".join(event_lines(timeline, view, end)))
    return "\n\n".join(part for part in parts if part)


def draw_lanes(timeline: Timeline, view: View) -> str:
    """The lanes and what their marks mean, and nothing else of the page. Raises as `draw_timeline` does."""
    return "\n".join(_lanes(timeline, view, _end(timeline, view)))


def _end(timeline: Timeline, view: View) -> int:
    end = timeline.ticks if view.until is None else min(view.until, timeline.ticks)
    if view.begin >= end or view.width < LEAST_WIDTH:
        raise ValueError(f"nothing can be drawn of ticks {view.begin} to {end} in {view.width} columns")
    return end


def _head(timeline: Timeline, view: View, end: int) -> str:
    title = timeline.yard.title or "dry run"
    window = f"{_seconds(view.begin)} to {_seconds(end)} of {_seconds(timeline.ticks)}"
    shown = window if (view.begin, end) != (0, timeline.ticks) else _seconds(timeline.ticks)
    head = f"{title}: dry run of {shown}, seed {timeline.seed}"
    return "\n".join(_wrapped([head, *timeline.notes], view.width))


def _lanes(timeline: Timeline, view: View, end: int) -> Iterator[str]:
    marks = view.marks
    probe = Scale(view.begin, end, 1)
    groups = _groups(timeline, probe, view)
    lanes = [lane for _, members in groups for lane in members]
    names = names_fit(lanes, max(view.width // 3, 12)) + 1
    scale = Scale(view.begin, end, view.width - names - 1)
    labels, ruler = axis_lines(scale, marks)
    yield f"{'':{names}} {labels}".rstrip()
    yield f"{'':{names}} {ruler}"
    for heading, members in _groups(timeline, scale, view):
        if heading:
            yield view.coloured(heading, "quiet")
        for lane in members:
            yield f"{_fitted(lane.name, names, marks)} {_cells(lane, scale, view)}".rstrip()
    yield ""
    yield from _legend(lanes, scale, view)


def _groups(timeline: Timeline, scale: Scale, view: View) -> list[tuple[str, list[Lane]]]:
    """Sensors, scares, the devices prop by prop (inside a prop its name is not said again), then the air."""
    marks, only = view.marks, view.only
    groups = [
        ("sensors", list(sensor_lanes(timeline, scale, marks))),
        ("scares", list(scare_lanes(timeline, scale, marks))),
    ]
    props: dict[str, list[Lane]] = {}
    for lane in device_lanes(timeline, scale, marks):
        prop, _, name = lane.name.rpartition(".")
        props.setdefault(prop or _YARD, []).append(Lane(name, lane.kind, lane.cells))
    air = ("air", list(supply_lanes(timeline, scale, marks)))
    return [(heading, lanes) for heading, lanes in [*groups, *props.items(), air]
            if lanes and (only is None or heading in only)]


def _cells(lane: Lane, scale: Scale, view: View) -> str:
    grid = scale.grid()
    dot = view.marks.grid
    cells = "".join(
        dot if cell == " " and column in grid else cell for column, cell in enumerate(lane.cells)
    ).rstrip()
    return view.coloured(cells, {"idle": "scare", "two coils": "coil"}.get(lane.kind, lane.kind))


def _legend(lanes: list[Lane], scale: Scale, view: View) -> Iterator[str]:
    kinds = frozenset(lane.kind for lane in lanes)
    words = [f"{mark} {meaning}" for mark, meaning in legend(view.marks, kinds)]
    words.append(f"a column is {_column_width(scale.width)}")
    line = ""
    for word in words:
        if line and len(line) + 3 + len(word) > view.width:
            yield line
            line = ""
        line = f"{line}   {word}" if line else word
    yield line


def _fitted(name: str, width: int, marks: Marks) -> str:
    """The name in its column; the end of a long one is kept, since that is what tells two names apart."""
    inner = width - 1
    shown = name if len(name) <= inner else marks.cut + name[len(name) - inner + 1 :]
    return f" {shown:<{inner}}"


def _column_width(ticks: float) -> str:
    return f"{ticks / 1000:.3g} s" if ticks >= 1000 else f"{ticks:.3g} ms"


def _seconds(tick: int) -> str:
    return f"{tick / 1000:.3f}".rstrip("0").rstrip(".") + " s"


def _wrapped(sentences: list[str], width: int) -> Iterator[str]:
    for sentence in sentences:
        line = ""
        for word in sentence.split():
            if line and len(line) + 1 + len(word) > width:
                yield line
                line = ""
            line = f"{line} {word}" if line else word
        yield line
