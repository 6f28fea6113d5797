"""Pressures in the cylinders and the current of a supply: held against strokes, the supply, and sums made by hand."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.air.stroke import predict_stroke
from sequencer.checks import check_file
from sequencer.dryrun.current import summed
from sequencer.dryrun.levels import level_corners
from sequencer.dryrun.pressures import CLOSE_PA
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Series, Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.schedule.supply import request_for
from sequencer.show.model import Show
from sequencer.steps.events import OutputEdge
from tests.dryrun.test_coupled import STEP, setup_of, text_of

PSI = 6894.757293168
ALONE = """show "Alone"
supply brick: gives 12 V, up to 3 A
board box like avr328: supply brick
sensor step like mat: on box in0
prop window:
    reach none
    valve shove: kind 5/2, without power retracts, on box out0, draws 6 W
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 10 in, moves 9 lb, measured out 0.6 s at 60 psi
    lamp eyes: on box pwm0, draws 12 W
    pump spit: on box out1
    scare lunge on step trips:
        0 s:    ram extends
        0.5 s:  eyes to 100 % over 1 s
        2 s:    ram retracts, eyes to 50 %, spit runs for 200 ms
        3 s:    eyes off
"""


def value(series: Series, tick: float) -> float:
    """The value of a curve at a moment; behind the jump where there is one."""
    before = series.points[0]
    for point in series.points:
        if point[0] > tick * 1000:
            share = (tick * 1000 - before[0]) / (point[0] - before[0])
            return before[1] + (point[1] - before[1]) * share
        before = point
    return before[1]


def series_of(timeline: Timeline) -> dict[tuple[str, str], Series]:
    return {(one.of, one.what): one for one in timeline.series}


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> tuple[Show, Timeline]:
    path = tmp_path_factory.mktemp("show") / "alone.show"
    path.write_text(ALONE, encoding="utf-8")
    found = check_file(path)
    assert found.compiled is not None, [one.message for one in found.findings]
    setup = set_up(found.compiled, found.show)
    return found.show, run(setup, Asked((Trigger("step", 1000, 1200),), 1, 6_000, curves=True))


def test_at_rest_an_end_has_the_pressure_of_what_it_is_connected_to(alone: tuple[Show, Timeline]) -> None:
    found = series_of(alone[1])
    cap, rod = found["window.ram", "cap end pressure"], found["window.ram", "rod end pressure"]
    for tick, at_cap, at_rod in ((900, 0, 60), (2_950, 60, 0), (5_900, 0, 60)):
        assert value(cap, tick) / PSI == pytest.approx(at_cap, abs=0.7)
        assert value(rod, tick) / PSI == pytest.approx(at_rod, abs=0.7)
    assert cap.unit == "psi" and cap.points[0][0] == 0 and cap.points[-1][0] == 6_000_000


def test_a_motion_has_the_pressures_of_its_stroke(alone: tuple[Show, Timeline]) -> None:
    """Step by step of the same solver, as `stroke` shows them."""
    show, timeline = alone
    request = request_for(show.parts, "window.ram", 0.0, "out")
    assert request is not None
    stroke, found = predict_stroke(request), series_of(timeline)
    cap, rod = found["window.ram", "cap end pressure"], found["window.ram", "rod end pressure"]
    sent = next(one.tick for one in timeline.sent if one.way == "out")
    lead = stroke.trace.first_command_s
    for sample in stroke.trace.samples():
        if lead < sample.t_s < lead + 0.6:
            tick = sent + (sample.t_s - lead) * 1000
            slack = 2 * CLOSE_PA + 0.004 * P_ATMOSPHERE_PA
            assert value(cap, tick) == pytest.approx(sample.cap_pa - P_ATMOSPHERE_PA, abs=slack)
            assert value(rod, tick) == pytest.approx(sample.rod_pa - P_ATMOSPHERE_PA, abs=slack)


def test_the_current_is_what_is_on_at_the_voltage_of_the_supply(alone: tuple[Show, Timeline]) -> None:
    """6 W and 12 W at 12 V are 0.5 A and 1 A; what nobody said draws nothing here."""
    current = series_of(alone[1])["brick", "current"]
    assert (current.unit, current.limits) == ("A", (("most", 3.0),))
    begun = next(one.tick for one in alone[1].sent if one.way == "out")
    half = 128 / 255
    for after, amps in ((-1, 0), (1, 0.5), (999, 0.998), (1_900, 1.5), (2_001, half), (2_150, half), (3_001, 0)):
        assert value(current, begun + after) == pytest.approx(amps, abs=0.005)


def test_the_chambers_of_rods_that_stand_follow_the_supply(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one", "two")))
    found = series_of(run(setup, Asked((STEP, Trigger("knob", 3500, 3700)), 1, 6000, curves=True)))
    bench, rod = found["bench", "pressure"], found["two.ram", "rod end pressure"]
    least, at = min((pressure, us / 1000) for us, pressure in bench.points if us < 3_500_000)
    assert least < bench.points[0][1] - 2 * PSI, "the ram of `one` should have drawn the bench down before `two` moves"
    assert value(rod, 900) == pytest.approx(bench.points[0][1], abs=0.1 * PSI)
    assert value(rod, at) == pytest.approx(least, abs=0.25 * (bench.points[0][1] - least))
    for ram in ("one.ram", "two.ram"):
        cap = found[ram, "cap end pressure"]
        assert max(pressure for _, pressure in cap.points) == pytest.approx(90 * PSI, rel=0.05)
        assert cap.limits == (("regulator", pytest.approx(90 * PSI)),)


def test_whoever_does_not_ask_gets_the_run_that_others_get_without_these_curves(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, text_of(("one",)))
    plain = run(setup, Asked((STEP,), 1, 6000))
    asked = run(setup, Asked((STEP,), 1, 6000, curves=True))
    assert {one.what for one in plain.series} == {"pressure", "runs"}
    assert set(plain.series) < set(asked.series)
    assert (plain.tracks, plain.edges, plain.air_std_l) == (asked.tracks, asked.edges, asked.air_std_l)


def at(line: Sequence[tuple[float, float]], time: float) -> float:
    """Flat behind its last corner."""
    before = line[0]
    for corner in line:
        if corner[0] > time:
            return before[1] + (corner[1] - before[1]) * (time - before[0]) / (corner[0] - before[0])
        before = corner
    return before[1]


edges = st.lists(st.tuples(st.integers(1, 60), st.integers(0, 255), st.sampled_from([0, 0, 10, 40])), max_size=8).map(
    lambda rows: [OutputEdge(sum(gap for gap, *_ in rows[: n + 1]), 0, level, over)
                  for n, (_, level, over) in enumerate(rows)])


@given(st.lists(edges, max_size=4), st.integers(1, 400))
def test_the_sum_is_the_sum_at_every_moment(outputs: list[list[OutputEdge]], until: int) -> None:
    lines = [level_corners(one, 0) for one in outputs]
    whole = list(summed(lines, until))
    assert whole[0][0] == 0 and whole[-1][0] == until
    assert [time for time, _ in whole] == sorted(time for time, _ in whole)
    for half in range(2 * until - 1):
        time = half / 2 + 0.25
        assert at(whole, time) == pytest.approx(sum(at(line, time) for line in lines), abs=1e-6)
