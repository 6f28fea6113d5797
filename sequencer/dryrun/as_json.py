"""A timeline -> JSON, and a document of its form. Programs rely on it, so names stay; additions may come.

`version` grows when a name goes or changes its meaning. Ticks are whole numbers of 1 ms since arming; edges
are exact: the board makes the same ones at the same ticks from the same program, triggers and seed.

format        "prop-sequencer dry run"
version       1
title         what the show is called
ticks         how long the run was; ticks 0 up to, not including, this one ran
seed          what the random generator began with; `random_state` is how it ended
cold          whether sensors had to warm up
triggers      [{sensor, begins, ends}]: somebody is on the sensor from `begins` up to, not including, `ends`
outputs       [{index, name, device, kind, role, pin, safe}]; `kind` lamp, switched, coil, speaker; `role` of
              a coil is `only`, or `on` (sends out) and `back on` (sends home); `safe` is the
              level 0 to 255 at the start
inputs        [{index, sensor, kind, sees, end, turned}]; `kind` trigger, end_of_travel, stop, alarm;
              `turned`: the input counts as tripped while its sensor is clear
routines      [{index, name, idle}]
clips         [{index, speaker, name, output, ticks}]
edges         [[tick, output, level, over]]; `level` 0 to 255, reached at once, or evenly over `over` ticks
motions       [{cylinder, valve, points: [[us, fraction]], movements: [...]}]; between two points the rod
              moves evenly; fraction 0 is home, 1 is out; predicted; `us` is microseconds since arming
movements     {toward, commanded, leaves, ends, start, reached, cut, carries}; ticks and fractions; `cut`: another
              command came before the end
carries       [{part, unit, travel_m, turned_deg, fastest_m_s, arrives_m_s}] of a movement: how the end of each part
              that the rod drives went, or that of the rod itself (`part` is then the cylinder); `unit` is the author's
              for the travel; `turned_deg` null for what does not turn, `arrives_m_s` for what does not arrive
events        [{tick, what, ...}] in the order in which they happened; see `EVENT_FIELDS`
met           [{tick, kind, who, serious, sentence}]; see `MetKind` for the kinds
air           {std_l, basis, by: [{who, std_l}]}: litres at 20 C and 100 kPa, or null; by each cylinder and each
              valve that blows
tripped_at_start  inputs that count as tripped from tick 0 on
notes         sentences for people
series        [{of, what, unit, points: [[us, value]], limits: [[name, value]]}]; quantities of parts over the run, such
              as the `pressure` of a manifold or of a compressor's tank, `cap end pressure` and `rod end pressure` of a
              cylinder, `current` of a supply, and whether a compressor `runs` (1, 0);
              values are SI, pressures gauge; `unit` is the author's
"""

from __future__ import annotations

import json
from enum import Enum
from typing import Any

from sequencer.air.carrying import EndRun, degrees_of
from sequencer.dryrun.motion import Movement
from sequencer.dryrun.timeline import Timeline, Track
from sequencer.steps.events import Event

FORMAT = "prop-sequencer dry run"
VERSION = 1

EVENT_FIELDS: dict[str, tuple[str, ...]] = {
    "Started": ("routine", "cause", "subject"),
    "Skipped": ("routine", "reason"),
    "Ended": ("routine",),
    "Killed": ("routine", "cause"),
    "ModeChanged": ("mode", "cause"),
    "Fault": ("code", "subject"),
    "InputChanged": ("input", "tripped"),
    "ClipStarted": ("clip",),
    "ClipEnded": ("clip",),
    "ClipSilenced": ("clip",),
}
"""What an event of each kind carries beside `tick`; numbers are indexes of the tables above."""


def as_json(timeline: Timeline) -> str:
    """One JSON object on one line, without a line end."""
    return json.dumps(as_object(timeline), ensure_ascii=False, separators=(",", ":"))


def as_object(timeline: Timeline) -> dict[str, Any]:
    """The same as plain values."""
    yard = timeline.yard
    return {
        "format": FORMAT,
        "version": VERSION,
        "title": yard.title,
        "ticks": timeline.ticks,
        "seed": timeline.seed,
        "random_state": timeline.random_state,
        "cold": timeline.cold,
        "triggers": [{"sensor": t.sensor, "begins": t.begins, "ends": t.ends} for t in timeline.triggers],
        "outputs": [_plain(one) for one in yard.outputs],
        "inputs": [_plain(one) for one in yard.inputs],
        "routines": [_plain(one) for one in yard.routines],
        "clips": [_plain(one) for one in yard.clips],
        "edges": [[edge.tick, edge.output, edge.level, edge.over] for edge in timeline.edges],
        "motions": [_motion(track) for track in timeline.tracks],
        "events": [_event(event) for event in timeline.events],
        "met": [_plain(one) for one in timeline.met],
        "air": {
            "std_l": timeline.air_std_l, "basis": timeline.air_basis, "by": [_plain(one) for one in timeline.drawn],
        },
        "tripped_at_start": list(timeline.tripped_at_start),
        "notes": list(timeline.notes),
        "series": [_plain(one) for one in timeline.series],
    }


def _plain(value: Any) -> dict[str, Any]:
    return {name: _word(getattr(value, name)) for name in type(value).__dataclass_fields__}


def _word(value: Any) -> Any:
    """Enums by the word that stays: the value of a text, the name of a number."""
    if not isinstance(value, Enum):
        return value
    return value.value if isinstance(value.value, str) and " " not in value.value else value.name.lower()


def _event(event: Event) -> dict[str, Any]:
    kind = type(event).__name__
    fields = {name: _word(getattr(event, name)) for name in EVENT_FIELDS[kind]}
    return {"tick": event.tick, "what": _snake(kind), **fields}


def _motion(track: Track) -> dict[str, Any]:
    return {
        "cylinder": track.cylinder,
        "valve": track.valve,
        "points": [[us, round(fraction, 6)] for us, fraction in track.points],
        "movements": [_movement(one) for one in track.movements],
    }


def _movement(one: Movement) -> dict[str, Any]:
    return {
        "toward": one.toward, "commanded": one.commanded, "leaves": one.leaves, "ends": one.ends,
        "start": round(one.start, 6), "reached": round(one.reached, 6), "cut": one.cut,
        "carries": [_end_run(run) for run in one.carries],
    }  # fmt: skip


def _end_run(run: EndRun) -> dict[str, Any]:
    turned, arrives = degrees_of(run), run.arrives_m_s
    return {
        "part": run.part, "unit": run.unit, "travel_m": round(run.travel_m, 6),
        "turned_deg": None if turned is None else round(turned, 4), "fastest_m_s": round(run.fastest_m_s, 5),
        "arrives_m_s": None if arrives is None else round(arrives, 5),
    }  # fmt: skip


def _snake(name: str) -> str:
    """`InputChanged` as `input_changed`."""
    return "".join(f"_{letter.lower()}" if letter.isupper() else letter for letter in name).lstrip("_")
