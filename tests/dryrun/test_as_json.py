"""The JSON form: names that programs rely on, exact edges, and nothing that is not plain JSON (RFC 8259)."""

from __future__ import annotations

import json
from dataclasses import replace

from sequencer.dryrun import as_json as form
from sequencer.dryrun.as_json import EVENT_FIELDS, as_json, as_object
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import MetKind, Series, Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.steps import events
from tests.dryrun.yards import LUNGE, setup_of

NAMES = {
    "": [
        "format",
        "version",
        "title",
        "ticks",
        "seed",
        "random_state",
        "cold",
        "triggers",
        "outputs",
        "inputs",
        "routines",
        "clips",
        "edges",
        "motions",
        "events",
        "met",
        "air",
        "tripped_at_start",
        "notes",
        "series",
    ],
    "triggers": ["sensor", "begins", "ends"],
    "outputs": ["index", "name", "device", "kind", "role", "pin", "safe"],
    "inputs": ["index", "sensor", "kind", "sees", "end", "turned"],
    "routines": ["index", "name", "idle"],
    "clips": ["index", "speaker", "name", "output", "ticks"],
    "motions": ["cylinder", "valve", "points", "movements"],
    "met": ["tick", "kind", "who", "sentence", "serious"],
}
"""Version 1. A name that goes, or means something else, makes version 2."""


def timeline() -> Timeline:
    return run(setup_of(LUNGE), Asked([Trigger("step", 2000, 2200), Trigger("step", 3000, 3200)], 7))


def test_version_1_has_these_names() -> None:
    value = json.loads(as_json(timeline()))
    assert (value["format"], value["version"]) == ("prop-sequencer dry run", 1)
    assert list(value) == NAMES[""]
    for table, names in NAMES.items():
        if table:
            assert value[table], table
            assert list(value[table][0]) == names
    assert list(value["motions"][0]["movements"][0]) == [
        "toward", "commanded", "leaves", "ends", "start", "reached", "cut", "carries",
    ]  # fmt: skip
    assert list(value["air"]) == ["std_l", "basis", "by"]


def test_a_quantity_over_the_run_is_told_in_si_with_the_authors_unit() -> None:
    bench = Series("bench", "pressure", "psi", ((0, 620_528.0), (5_000, 600_000.0)), (("least", 413_685.0),))
    value = json.loads(as_json(replace(timeline(), series=(bench,))))
    assert value["series"] == [{
        "of": "bench", "what": "pressure", "unit": "psi", "points": [[0, 620_528.0], [5_000, 600_000.0]],
        "limits": [["least", 413_685.0]],
    }]  # fmt: skip


def test_every_name_is_in_the_document() -> None:
    document = form.__doc__ or ""
    for names in NAMES.values():
        for name in names:
            assert name in document, name


def test_the_words_of_version_1_stay() -> None:
    assert [kind.value for kind in MetKind] == [
        "skipped", "motion_cut_short", "already_there", "longest_on", "exclusion", "end_sensor_late",
        "link_lost", "both_coils_on", "vented", "trip_too_short", "held_at_arming",
    ]  # fmt: skip


def test_edges_are_those_of_the_board_to_the_tick() -> None:
    run_now = timeline()
    value = as_object(run_now)
    assert value["edges"] == [[edge.tick, edge.output, edge.level, edge.over] for edge in run_now.edges]
    assert value["edges"][:3] == [[2020, 0, 255, 400], [2020, 2, 255, 0], [2760, 1, 255, 0]]


def test_every_kind_of_event_has_its_fields() -> None:
    kinds = {kind.__name__: kind for kind in events.Event.__args__ if kind is not events.OutputEdge}
    assert set(EVENT_FIELDS) == set(kinds)
    for name, fields in EVENT_FIELDS.items():
        assert ("tick", *fields) == tuple(kinds[name].__dataclass_fields__)


def test_an_event_says_what_it_is_in_plain_words() -> None:
    value = as_object(timeline())
    assert {"tick": 2020, "what": "started", "routine": 0, "cause": "trigger", "subject": 0} in value[
        "events"
    ]
    assert {"tick": 0, "what": "mode_changed", "mode": "armed", "cause": "by_hand"} in value["events"]
    assert {"tick": 3020, "what": "skipped", "routine": 0, "reason": "running"} in value["events"]


def test_the_same_run_gives_the_same_bytes() -> None:
    assert as_json(timeline()) == as_json(timeline())
