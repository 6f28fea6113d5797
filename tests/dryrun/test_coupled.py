"""Props on one described supply: the dry run moves them together, and what the board does follows from it."""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path

import pytest

from sequencer.air.from_rig import command_of
from sequencer.air.shared_run import SharedTrace, shared_run
from sequencer.checks import check_file
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.session import Session, Setup
from sequencer.dryrun.timeline import MetKind, Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.steps.events import InputChanged

HEAD = """show "Signal box"
compressor shed: delivers 5.1 scfm at 90 psi, tank TANK, cuts in at 95 psi, cuts out at 125 psi
line yard from shed: tube 3/8 in, length LINE
manifold bench on yard: ports 8, regulator 90 psi
board box like avr328
sensor step like push_button: on box in0
sensor knob like push_button: on box in1
"""
PROP = """
prop PROP:
    air from bench port PORT, tube 1/4 in, length 6 ft
    reach none
    valve shove: kind 5/2, without power retracts, on box PIN
    cylinder ram like cylinder_round_2_in:
        on shove
        stroke 12 in
        moves 9 lb
    sensor ram_out like reed_switch: on box SENSOR, sees ram out
    scare lunge on TRIGGER:
        0.2 s: ram extends
        then: ram retracts
"""
PINS = {"one": ("1", "out1", "in2", "step trips"), "two": ("2", "out2", "in3", "knob trips"),
        "three": ("3", "out3", "in4", "step trips"), "four": ("4", "out4", "in5", "step trips")}


def text_of(props: tuple[str, ...], tank: str = "20 gal", line: str = "50 ft") -> str:
    text = HEAD.replace("TANK", tank).replace("LINE", line)
    for name in props:
        port, pin, sensor, trigger = PINS[name]
        text += PROP.replace("PROP", name).replace("PORT", port).replace("PIN", pin).replace(
            "SENSOR", sensor).replace("TRIGGER", trigger)
    return text


def setup_of(folder: Path, text: str) -> Setup:
    path = folder / "box.show"
    path.write_text(text, encoding="utf-8")
    checked = check_file(path)
    assert checked.compiled is not None, [finding.message for finding in checked.findings]
    return set_up(checked.compiled, checked.show)


def ran(setup: Setup, *triggers: Trigger, ticks: int = 6000) -> Timeline:
    return run(setup, Asked(triggers, 1, ticks))


STEP, KNOB = Trigger("step", 1000, 1200), Trigger("knob", 1150, 1350)


def arrivals(timeline: Timeline, who: str) -> list[int]:
    track = next(one for one in timeline.tracks if one.cylinder == who)
    return [one.ends for one in track.movements]


def same_known_beforehand(setup: Setup, timeline: Timeline) -> SharedTrace:
    """The same commands to the same yard, all known at once."""
    plan, = setup.air
    commands = [(at, command_of(valve, sent.way, sent.tick / 1000)) for sent in timeline.sent if sent.tick
                for at, valve in enumerate(plan.driven_by) if valve.name == sent.valve]
    return shared_run(commands, plan.yard, timeline.ticks / 1000)


def test_the_rods_are_where_the_shared_air_moves_them(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one", "two", "three")))
    timeline = ran(setup, STEP, KNOB)
    known = same_known_beforehand(setup, timeline)
    for prop in known.props:
        found = arrivals(timeline, prop.name)
        assert len(found) == len(prop.hits) == 2
        for tick, hit in zip(found, prop.hits, strict=True):
            assert tick == pytest.approx(hit.at_s * 1000, abs=4)
    assert timeline.air_std_l == pytest.approx(known.air_std_l, rel=5e-3)
    assert {one.who: one.std_l for one in timeline.drawn} == pytest.approx(
        {prop.name: prop.air_std_l for prop in known.props}, rel=0.01)


def test_others_on_the_manifold_make_a_rod_late_and_its_sensor_with_it(tmp_path: Path) -> None:
    narrow = {"line": "250 ft"}
    alone = ran(setup_of(tmp_path, text_of(("one",), **narrow)), STEP)
    together = ran(setup_of(tmp_path, text_of(("one", "two", "three", "four"), **narrow)), STEP, KNOB)
    seen = [next(event.tick for event in one.events if isinstance(event, InputChanged) and event.input == 2)
            for one in (alone, together)]
    assert arrivals(together, "one.ram")[0] > arrivals(alone, "one.ram")[0] + 8
    assert seen[1] - seen[0] == pytest.approx(arrivals(together, "one.ram")[0] - arrivals(alone, "one.ram")[0], abs=3)
    # The scare goes on when the sensor says so, so the way back is later too.
    back = [next(one.tick for one in timeline.sent if one.valve == "one.shove" and one.tick > 1500)
            for timeline in (alone, together)]
    assert all(one.way == "home" for one in alone.sent if one.tick > 1500)
    assert back[1] > back[0] + 8


def test_a_sensor_answers_in_the_tick_in_which_its_rod_comes_within_a_hundredth_of_the_end(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one",)))
    timeline = ran(setup, STEP)
    settle = setup.program.inputs[2].settle
    tripped = next(event.tick for event in timeline.events if isinstance(event, InputChanged) and event.input == 2)
    track, = timeline.tracks
    crossing = next(us for us, where in track.points if where >= 0.99)
    assert tripped - settle <= crossing / 1000 + 1
    assert tripped - settle >= crossing / 1000 - 20


def test_it_makes_little_difference_in_which_leaps_a_run_is_advanced(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one", "two", "three")))
    draws = random.Random(5)
    whole, bits = Session(setup, 1), Session(setup, 1)
    for one in (whole, bits):
        one.add_trigger(STEP)
        one.add_trigger(KNOB)
    whole.advance(5000)
    while bits.tick < 5000:
        bits.advance(min(bits.tick + draws.randint(1, 90), 5000))
    for one, other in zip(whole.timeline().tracks, bits.timeline().tracks, strict=True):
        for ours, theirs in zip(one.movements, other.movements, strict=True):
            assert ours.ends == pytest.approx(theirs.ends, abs=4)


def test_what_is_tripped_later_changes_nothing_before_it(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one", "two", "three")))
    short, long = ran(setup, STEP, ticks=2500), ran(setup, STEP, Trigger("knob", 2400, 2600), ticks=4000)
    for one, other in zip(short.tracks, long.tracks, strict=True):
        before = [(us, where) for us, where in one.points if us <= 2_380_000]
        assert before == [(us, where) for us, where in other.points if us <= 2_380_000]


def test_pressures_tank_and_compressor_are_told_over_the_run(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one", "two", "three", "four"), tank="1 L"))
    again = [Trigger("step", 1000 + 4000 * turn, 1200 + 4000 * turn) for turn in range(6)]
    timeline = ran(setup, *again, KNOB, ticks=30_000)
    series = {(one.of, one.what): one for one in timeline.series}
    assert set(series) == {("bench", "pressure"), ("shed", "pressure"), ("shed", "runs")}
    bench = [value for _, value in series["bench", "pressure"].points]
    assert bench[0] == pytest.approx(90 * 6894.757, rel=1e-3) and min(bench) < 0.97 * bench[0]
    tank = series["shed", "pressure"]
    assert tank.points[0][1] == pytest.approx(125 * 6894.757, rel=1e-6)
    assert dict(tank.limits) == pytest.approx({"cuts in": 95 * 6894.757, "cuts out": 125 * 6894.757}, rel=1e-6)
    runs = series["shed", "runs"].points
    began = next(us for us, on in runs if on == 1.0)
    at_begin = max((point for point in tank.points if point[0] <= began), key=lambda point: point[0])
    assert at_begin[1] == pytest.approx(95 * 6894.757, rel=0.03)
    assert all(one[0] <= then[0] for one, then in pairwise(runs))


def test_a_motion_that_is_cut_short_is_told_with_how_far_it_got(tmp_path: Path) -> None:
    text = text_of(("one",)).replace("        then: ram retracts\n", "        +120 ms: ram retracts\n").replace(
        "    sensor ram_out like reed_switch: on box in2, sees ram out\n", "")
    timeline = ran(setup_of(tmp_path, text), STEP)
    cut, = (one for one in timeline.met if one.kind is MetKind.CUT_SHORT)
    track, = timeline.tracks
    first, second = track.movements
    assert first.cut and not second.cut and 0.05 < first.reached < 1.0
    assert cut.tick == next(one.tick for one in timeline.sent if one.way == "home" and one.tick > 1000)
    assert f"{100 * first.reached:.0f} %" in cut.sentence
    assert second.start == pytest.approx(first.reached, abs=1e-6) and second.reached == 0.0


def test_a_valve_that_blows_draws_air_and_pulls_the_manifold_down(tmp_path: Path) -> None:
    text = text_of(("one",)) + """
prop pipe:
    air from bench port 5, tube 3/8 in, length 4 ft
    reach none
    valve blast: kind 2/2, without power closed, on box out5, conductance 3 dm3/s/bar
    scare burst on knob trips:
        0 s: blast opens for 400 ms
"""
    timeline = ran(setup_of(tmp_path, text), KNOB)
    drawn = {one.who: one.std_l for one in timeline.drawn}
    assert drawn["pipe.blast"] > 3.0 and drawn["one.ram"] == pytest.approx(0.0, abs=0.05)
    bench = next(one for one in timeline.series if one.of == "bench")
    least_us, least = min(bench.points, key=lambda point: point[1])
    assert 1_100_000 < least_us < 1_700_000 and least < 0.97 * bench.points[0][1]


def test_without_a_compressor_in_sight_a_rod_moves_by_itself(tmp_path: Path) -> None:
    text = text_of(("one",)).replace("    air from bench port 1, tube 1/4 in, length 6 ft\n", "").replace(
        "        moves 9 lb\n", "        moves 9 lb\n        measured out 0.7 s, back 0.8 s\n")
    setup = setup_of(tmp_path, text)
    timeline = ran(setup, STEP)
    assert setup.air == () and timeline.series == ()
    assert len(arrivals(timeline, "one.ram")) == 2
