"""Shows -> pages and their data, for the tests: checked and dry-run as the command does it, without a command line."""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from sequencer.checks import Checked, check_bytes, check_file
from sequencer.checks.clips import sounds_in
from sequencer.data import folder
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import read_triggers
from sequencer.dryrun.wiring import set_up
from sequencer.language.load import folder_reader
from sequencer.pages.html.compare import Other
from sequencer.pages.html.flashes import fast_flashes
from sequencer.pages.html.page import Sheet, make_page
from sequencer.pages.html.read_back import BEGIN, END
from sequencer.pages.html.sounds import Sound
from sequencer.pages.html.window import Window

LANE = folder("shows") / "marrow_lane"


@dataclass(frozen=True, slots=True)
class Run:
    """A show and what is asked of its dry run. `text` None: the file `name` of the folder."""

    name: str
    where: Path
    trips: tuple[str, ...] = ()
    length: int | None = None
    seed: int = 7
    text: str | None = None


@cache
def checked(one: Run) -> Checked:
    if one.text is None:
        return check_file(one.where / one.name)
    return check_bytes(one.text.encode("utf-8"), one.name, folder_reader(one.where), sounds_in(one.where))


@cache
def timeline(one: Run) -> Timeline:
    found = checked(one)
    assert found.compiled is not None, [finding.message for finding in found.findings]
    setup = set_up(found.compiled, found.show)
    triggers, slips = read_triggers(one.trips, [sensor.sensor for sensor in setup.yard.inputs])
    assert not slips
    return run(setup, Asked(triggers, one.seed, one.length, trail=True, curves=True))


def calm(one: Run) -> Run:
    """The same with the first seed from its own on with which no lamp flashes fast, so that no caution stands in the
    way of who only wants to play."""
    return next(again for again in (replace(one, seed=seed) for seed in range(one.seed, one.seed + 50))
                if not fast_flashes(timeline(again)))


MARROW_LANE = calm(Run("marrow_lane.show", LANE, ("step@3s", "mat@10s", "cord@17s"), 24_000))


def sheet(one: Run, sound: bool = False, window: Window | None = None, other: Other | None = None) -> Sheet:
    found = checked(one)

    def read(name: str) -> Sound:
        path = one.where / name
        return Sound(path.read_bytes()) if path.is_file() else Sound(trouble="is missing")

    return Sheet(one.name, found.show, found.findings, timeline(one), found.compiled, found.plan, window,
                 read_sound=read if sound else None, other=other)


def page_of(one: Run, sound: bool = True, window: Window | None = None, other: Other | None = None) -> str:
    return make_page(sheet(one, sound, window, other))


def data_of(text: str) -> dict[str, Any]:
    """What the script of a page reads."""
    begin = text.index(BEGIN) + len(BEGIN)
    value = json.loads(zlib.decompress(base64.b64decode(text[begin : text.index(END, begin)])))
    assert isinstance(value, dict)
    return value


def lanes(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {lane["key"]: lane for group in data["groups"] for lane in group["lanes"]}


def curve(flat: list[int], grain: float) -> list[tuple[float, float]]:
    """A packed curve as (ms, value), taken apart here by its description and not by the code that made it."""
    points, time, value = [], 0, 0
    for step, rise in zip(flat[::2], flat[1::2], strict=True):
        time, value = time + step, value + rise
        points.append((time / 10, value * grain))
    return points


def at(points: list[tuple[float, float]], time: float) -> float:
    """The value of a line at a moment."""
    before = points[0]
    for point in points:
        if point[0] > time:
            share = (time - before[0]) / (point[0] - before[0])
            return before[1] + (point[1] - before[1]) * share
        before = point
    return before[1]
