"""A checked show and its dry run -> the page as one text, ready to be written into a file.

What the page holds, as the JSON in its element `data` (version 2, deflated; `read_back` reads it again):

form, version, title    "prop-sequencer page", 2, what the show is called
run                     file, seed, ticks, cold, and what the command needs
begin, end              ticks from `begin` up to, not including, `end` are shown
groups                  [{name, label, prop, air, lanes}]; `prop`: it is one of the show's props; `air`: these are the
                        pressures in its cylinders; see `lanes`
trips                   [{sensor, begin, end}]
files, places, marks    see `cues`; `who` of a place is the device or scare that its step acts on
findings                [{index, severity, ticks}] of those that bite at some time
sounds, clips           see `sounds`
fast                    null, or the lamp that flashes fastest: {who, most, at}
other                   null, or what the run is compared with: {name}; `was` of a lane is the other's
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sequencer.dryrun.timeline import Device, Timeline
from sequencer.findings import Finding
from sequencer.pages.html.compare import Change, Other, compared
from sequencer.pages.html.cues import Cues, cues_of
from sequencer.pages.html.document import Parts, document
from sequencer.pages.html.findings import rows_of
from sequencer.pages.html.flashes import Fast, fast_flashes, worst_of
from sequencer.pages.html.lanes import SHARED, YARD, Lane, lanes_of
from sequencer.pages.html.pack import gaps_of, steps_of
from sequencer.pages.html.read_back import FORM, VERSION
from sequencer.pages.html.sounds import ReadSound, sounds_of
from sequencer.pages.html.stage import stage_of
from sequencer.pages.html.window import Window
from sequencer.schedule import Compiled
from sequencer.schedule.plan import Plan
from sequencer.show import Show

LONGEST = 3_600_000
"""Ticks in one page: an hour. A bound of this tool, so that a browser opens what it is given."""
MOST_MARKS = 400_000
"""Edges, corners and steps in one page, for the same reason: about 4 MB of numbers."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a page is made of. `timeline`, `compiled` and `plan` are None for a show with errors.

    `file` is the show's own name without its folder; `window` None means the whole run.
    """

    file: str
    show: Show
    findings: Sequence[Finding]
    timeline: Timeline | None = None
    compiled: Compiled | None = None
    plan: Plan | None = None
    window: Window | None = None
    page: str = "page.html"
    read_sound: ReadSound | None = None
    other: Other | None = None
    usual_trip: int = 200


class TooMuch(ValueError):
    """The window holds more than a browser should be given; the sentence says how much, and what to do."""


def make_page(sheet: Sheet) -> str:
    """The whole page. Raises TooMuch where the run is too long or too full for one."""
    if sheet.timeline is None or sheet.compiled is None:
        rows = rows_of(sheet.findings, (), Cues(), Window(0, 0), sheet.show)
        return document(Parts(sheet.file, sheet.show.title, _texts(sheet.show), rows))
    timeline = sheet.timeline
    window = sheet.window or Window(0, timeline.ticks)
    _refuse_too_much(timeline, window)
    cues = cues_of(timeline, sheet.compiled, sheet.plan, window)
    rows = rows_of(sheet.findings, timeline.met, cues, window, sheet.show)
    fast = {name: [one for one in found if one.end > window.begin and one.begin < window.end]
            for name, found in fast_flashes(timeline).items()}
    data = _data(sheet, timeline, window, cues, fast)
    data["findings"] = [{"index": number, "severity": row.severity, "ticks": list(row.ticks)}
                        for number, row in enumerate(rows) if row.ticks]
    changes: list[Change] = []
    if sheet.other is not None:
        changes = compared(data, sheet.other)
        data["other"] = {"name": sheet.other.name}
    parts = Parts(
        sheet.file, sheet.show.title, _texts(sheet.show), rows, data, timeline, window, stage_of(sheet.show),
        cues, worst_of(fast), changes, sheet.other.name if sheet.other is not None else "",
    )  # fmt: skip
    return document(parts)


def _texts(show: Show) -> dict[str, str]:
    """The files of a show, its own first."""
    return {name: show.texts[name] for name in sorted(show.texts, key=lambda name: name != show.file)}


def run_of(sheet: Sheet, name: str) -> Other:
    """The run of a sheet to compare another with. Raises TooMuch as `make_page`."""
    assert sheet.timeline is not None and sheet.compiled is not None
    window = sheet.window or Window(0, sheet.timeline.ticks)
    _refuse_too_much(sheet.timeline, window)
    cues = cues_of(sheet.timeline, sheet.compiled, sheet.plan, window)
    return Other(name, _data(sheet, sheet.timeline, window, cues, {}))


def refuse_too_long(ticks: int) -> None:
    """Raises TooMuch for a stretch that no page takes, whatever happens in it."""
    if ticks > LONGEST:
        raise TooMuch(f"A page holds {LONGEST // 60_000} min at most, and this would be {ticks / 60_000:.4g} min; "
                      "--from and --to pick a part.")


def _refuse_too_much(timeline: Timeline, window: Window) -> None:
    seconds = (window.end - window.begin) / 1000
    refuse_too_long(window.end - window.begin)
    edges = sum(window.holds(edge.tick) for edge in timeline.edges)
    corners = sum(window.holds(us / 1000) for track in timeline.tracks for us, _ in track.points)
    corners += sum(window.holds(us / 1000) for series in timeline.series for us, _ in series.points)
    steps = sum(window.holds(taken[0]) for taken in timeline.trail)
    if edges + corners + steps > MOST_MARKS:
        raise TooMuch(f"A page holds {MOST_MARKS:,} changes at most, and {seconds:.4g} s of this run have "
                      f"{edges + corners + steps:,}; --from and --to pick a part.")


def _data(
    sheet: Sheet, timeline: Timeline, window: Window, cues: Cues, fast: Mapping[str, Sequence[Fast]]
) -> dict[str, Any]:
    sounds, clips = sounds_of(sheet.show, sheet.read_sound)
    files = list(_texts(sheet.show))
    groups = lanes_of(timeline, sheet.show, window)
    _fill_in({lane["key"]: lane for group in groups for lane in group.lanes}, timeline, cues, fast)
    labels = {placed.part.name: placed.part.label or "" for placed in sheet.show.of_kind("prop")}
    labels |= {"sensors": "Sensors", "scares": "Scares", SHARED: "Air and power", YARD: "Yard"}
    worst = worst_of(fast)
    return {
        "form": FORM, "version": VERSION, "title": timeline.yard.title,
        "run": {"file": sheet.file, "seed": timeline.seed, "ticks": timeline.ticks, "cold": timeline.cold,
                "page": sheet.page, "usual": sheet.usual_trip},
        "begin": window.begin, "end": window.end,
        "groups": [{"name": one.name, "label": labels.get(one.name, ""), "prop": int(one.name in sheet.show.parts),
                    "air": int(one.air), "lanes": one.lanes} for one in groups],
        "trips": [{"sensor": one.sensor, "begin": one.begins, "end": one.ends} for one in timeline.triggers],
        "sensors": [one.sensor for one in timeline.yard.inputs],
        "files": files,
        "places": [
            {"file": files.index(place.span.file), "line": place.span.line,
             "who": who_of(timeline, sheet.compiled, place.routine, place.note), "note": place.note}
            for place in cues.places
        ],
        "marks": steps_of(cues.marks), "sounds": sounds, "clips": clips,
        "fast": None if worst is None else {"who": worst[0], "most": worst[1].most, "at": worst[1].begin},
        "other": None,
    }  # fmt: skip


def who_of(timeline: Timeline, compiled: Compiled | None, routine: int, note: str) -> str:
    """The device that a step acts on: the first word of what the listing says of it, or else the routine."""
    word = note.partition(" ")[0]
    devices = {one.device for one in timeline.yard.outputs} | {track.cylinder for track in timeline.tracks}
    return word if word in devices else timeline.yard.routines[routine].name


def _fill_in(
    lanes: Mapping[str, Lane], timeline: Timeline, cues: Cues, fast: Mapping[str, Sequence[Fast]]
) -> None:
    """Puts waits, landings and fast flashes into the lanes that they belong to."""
    for one in timeline.yard.routines:
        waits = [(begin, end, number) for begin, end, routine, number in cues.waits if routine == one.index]
        lanes[f"scare:{one.name}"]["waits"] = gaps_of(waits)
    for landing in cues.landings:
        lanes[f"rod:{landing.cylinder}"]["lands"].append(
            [landing.asked, landing.fastest, landing.slowest, landing.until, landing.arrived])
    for output in timeline.yard.outputs:
        if output.kind is Device.LAMP and fast.get(output.device):
            rows = [(one.begin, one.end, one.most, round(255 * one.level)) for one in fast[output.device]]
            lanes[f"lamp:{output.device}"]["fast"] = gaps_of(rows)


__all__ = ["FORM", "VERSION", "Sheet", "TooMuch", "make_page", "refuse_too_long", "run_of"]
