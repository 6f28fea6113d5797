"""What stands in the page is what the timeline says: positions, levels, states, cues, landings."""

from __future__ import annotations

import random
from collections import defaultdict

import pytest

from sequencer.dryrun.as_json import as_object
from sequencer.dryrun.timeline import Device
from sequencer.pages.html.compare import spans
from sequencer.pages.html.cues import SILENT, cues_of
from sequencer.pages.html.window import Window
from sequencer.pages.terminal_sample import levels_of
from tests.pages.html.made import LANE, MARROW_LANE, Run, at, checked, curve, data_of, lanes, page_of, timeline

WINDOWS = [Window(0, 24_000), Window(3_900, 11_000), Window(4_000, 4_020)]
LONG = Run("marrow_lane.show", LANE, tuple(f"{who}@{when}s" for when in range(5, 170, 40)
                                           for who in ("step", "mat", "cord")), 180_000)


@pytest.mark.parametrize("window", WINDOWS, ids=str)
def test_each_rod_is_where_the_json_form_says(window: Window) -> None:
    found = lanes(data_of(page_of(MARROW_LANE, sound=False, window=window)))
    draws = random.Random(3)
    for motion in as_object(timeline(MARROW_LANE))["motions"]:
        points = [(us / 1000, share) for us, share in motion["points"]]
        lane = found[f"rod:{motion['cylinder']}"]
        drawn = curve(lane["curve"], lane["grain"])
        assert drawn[0][0] == window.begin and drawn[-1][0] == window.end
        for _ in range(200):
            time = draws.uniform(window.begin, window.end)
            assert abs(at(drawn, time) - at(points, time)) <= 0.005


@pytest.mark.parametrize("window", WINDOWS, ids=str)
def test_each_lamp_has_the_level_that_its_edges_give(window: Window) -> None:
    found = lanes(data_of(page_of(MARROW_LANE, sound=False, window=window)))
    run = timeline(MARROW_LANE)
    for output in run.yard.outputs:
        if output.kind is not Device.LAMP:
            continue
        line = levels_of([edge for edge in run.edges if edge.output == output.index], output.safe)
        flat = found[f"lamp:{output.device}"]["edges"]
        rows, tick, level, goal, over = [], 0, 0.0, 0, 0
        for number in range(0, len(flat), 3):
            tick += flat[number]
            rows.append((tick, flat[number + 1], flat[number + 2]))
        assert rows[0][0] == window.begin
        for moment in range(window.begin, window.end, 97):
            level, begun, start = 0.0, 0, 0.0
            for tick, goal, over in rows:
                if tick > moment:
                    break
                if over == 0:
                    level = float(goal)
                    continue
                following = next((one[0] for one in rows if one[0] > tick), window.end)
                begun, start = tick, level
                now = min(moment, following)
                level = start + (goal - start) * min((now - begun) / over, 1)
            assert abs(level - line.at(moment)) < 1.5, (output.device, moment)


def test_a_spool_stands_as_it_did_until_it_has_answered_and_shifted() -> None:
    lane = lanes(data_of(page_of(MARROW_LANE, sound=False)))["valve:window.shove"]
    (on, off, _), = spans(lane["asked"], 3)
    stands = list(spans(lane["spans"], 3))
    valve = checked(MARROW_LANE).show.parts["window.shove"].part
    assert [way for _, _, way in stands] == [0, 1, 0]
    assert stands[1][0] - on == round((valve.responds.si + valve.shift.si) * 1000)
    assert stands[1][1] - off == round((valve.releases.si + valve.shift.si) * 1000)


def test_every_edge_that_a_routine_makes_has_a_cue_in_its_tick_at_the_line_that_made_it() -> None:
    one, run = checked(LONG), timeline(LONG)
    assert one.compiled is not None
    cues = cues_of(run, one.compiled, one.plan, Window(0, run.ticks))
    at_tick = defaultdict(set)
    for tick, place in cues.marks:
        at_tick[tick].add(cues.places[place].note.partition(" ")[0])
    for track in run.tracks:
        for movement in track.movements:
            assert at_tick[movement.commanded], movement
    done = sum(1 for tick, routine, step in run.trail
               if one.compiled.program.routines[routine].steps[step].op not in SILENT)
    assert 0 < len(cues.marks) <= done
    texts = one.show.texts
    for place in cues.places:
        line = texts[place.span.file].split("\n")[place.span.line - 1]
        word = place.note.partition(" ")[0].rpartition(".")[2]
        assert not word or word in line or "who" in line, (place, line)


def test_a_wait_for_a_sensor_ends_when_the_sensor_answers() -> None:
    one, run = checked(MARROW_LANE), timeline(MARROW_LANE)
    assert one.compiled is not None
    cues = cues_of(run, one.compiled, one.plan, Window(0, run.ticks))
    (begin, end, routine, sensor), = cues.waits
    assert run.yard.routines[routine].name == "drain.climb"
    assert run.yard.inputs[sensor].sensor == "drain.riser_up"
    tripped = next(event.tick for event in run.events
                   if type(event).__name__ == "InputChanged" and event.input == sensor and event.tripped)
    assert end == tripped and begin < end


def test_a_landing_arrives_when_the_rod_does_and_lies_in_its_band() -> None:
    one, run = checked(LONG), timeline(LONG)
    assert one.compiled is not None
    landings = cues_of(run, one.compiled, one.plan, Window(0, run.ticks)).landings
    assert len({landing.cylinder for landing in landings}) == 2
    for landing in landings:
        movement = next(movement for track in run.tracks if track.cylinder == landing.cylinder
                        for movement in track.movements if movement.commanded <= landing.asked <= movement.ends + 50)
        if not movement.cut:
            assert landing.arrived == movement.ends
            assert landing.off is not None and abs(landing.off) <= 1
        assert landing.fastest < landing.asked < landing.slowest


def test_the_same_run_gives_the_same_page() -> None:
    assert page_of(MARROW_LANE) == page_of(MARROW_LANE)
