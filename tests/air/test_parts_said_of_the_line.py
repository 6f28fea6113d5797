"""Quick exhausts, mufflers, the flow of a regulator, the start of a tank, as a show says them: what comes of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.air.fittings import regulator_on
from sequencer.air.flow import Flow, free_flow_m3_s
from sequencer.air.from_rig import Unknowns, cylinder_air
from sequencer.air.parts import MUFFLER, exhaust_past_quick_exhaust, muffler_flow
from sequencer.air.request import described_by
from sequencer.air.series import in_series
from sequencer.air.stroke import Stroke, predict_stroke
from sequencer.checks import check_file
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.rig.manifold import Manifold
from sequencer.schedule.supply import request_for
from sequencer.show.model import Show
from sequencer.units import read_quantity

YARD = """show "Signal box"
compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi TANK
manifold bench on shed: ports 8, regulator 80 psi REGULATOR
board box like avr328
sensor step like push_button: on box in0
prop window:
    air from bench port 1, tube 1/4 in, length 12 ft
    reach none
    valve shove like valve_5_2_quarter: on box out1 VALVE
    cylinder ram like cylinder_round_2_in: on shove, stroke 12 in, moves 5 lb, cushioned CYLINDER
    scare lunge on step trips:
        0.5 s: ram extends
        3 s:   ram retracts
"""


def show_of(folder: Path, **said: str) -> tuple[Show, Timeline]:
    text = YARD
    for place in ("TANK", "REGULATOR", "VALVE", "CYLINDER"):
        text = text.replace(f" {place}", f", {said[place]}" if place in said else "")
    path = folder / "box.show"
    path.write_text(text, encoding="utf-8")
    checked = check_file(path)
    assert checked.compiled is not None, [finding.message for finding in checked.findings]
    return checked.show, run(set_up(checked.compiled, checked.show), Asked((Trigger("step", 1000, 1200),), 1, 6000))


def stroke(folder: Path, toward: str, **said: str) -> Stroke:
    show, _ = show_of(folder, **said)
    request = request_for(show.parts, "window.ram", 0.0 if toward == "out" else 1.0, toward)  # type: ignore[arg-type]
    assert request is not None
    return predict_stroke(request)


@pytest.mark.parametrize(("way", "toward", "other"), [("out", "out", "home"), ("back", "home", "out")])
def test_a_quick_exhaust_speeds_the_way_that_it_lets_air_out_on(tmp_path: Path, way: str, toward: str, other: str
                                                                 ) -> None:
    quick = {"CYLINDER": f"quick exhaust {way}"}
    assert stroke(tmp_path, toward, **quick).end_us < 0.85 * stroke(tmp_path, toward).end_us
    # Filling its port goes through the tube as before.
    assert stroke(tmp_path, other, **quick).end_us == pytest.approx(stroke(tmp_path, other).end_us, rel=0.03)


def test_both_ways_is_both(tmp_path: Path) -> None:
    both = {"CYLINDER": "quick exhaust both ways"}
    for toward, way in (("out", "out"), ("home", "back")):
        one = stroke(tmp_path, toward, CYLINDER=f"quick exhaust {way}")
        assert stroke(tmp_path, toward, **both).end_us == pytest.approx(one.end_us, rel=0.03)


def ports(folder: Path, **said: str) -> tuple[Flow, Flow, Flow, Flow]:
    """How cap and rod end let air out at the port, and through the valve."""
    show, _ = show_of(folder, **said)
    request = request_for(show.parts, "window.ram", 0.0, "out")
    assert request is not None
    air = cylinder_air(described_by(request), Unknowns(5.0, 5.0), "out")
    return air.cap.leave, air.rod.leave, air.cap.exhaust, air.rod.exhaust


def test_its_flow_is_that_of_the_usual_part_or_as_printed(tmp_path: Path) -> None:
    usual = ports(tmp_path, CYLINDER="quick exhaust out")[1].c_m3_s_pa
    printed = ports(tmp_path, CYLINDER="quick exhaust out, quick exhaust conductance 1 dm3/s/bar")[1].c_m3_s_pa
    assert usual == pytest.approx(exhaust_past_quick_exhaust().c_m3_s_pa, rel=0.1)  # a port without needle is wide
    assert printed == pytest.approx(1e-8, rel=0.05)


@pytest.mark.parametrize(("said", "muffler"), [
    ({}, MUFFLER), ({"VALVE": "muffler clogged"}, muffler_flow(clogged=True)),
    ({"VALVE": "muffler conductance 0.8 dm3/s/bar"}, Flow(0.8e-8, 0.3)),
    ({"VALVE": "muffler clogged, muffler conductance 3 dm3/s/bar"}, Flow(1e-8, 0.3)), ({"VALVE": "muffler none"}, None),
])
def test_the_exhaust_is_valve_and_muffler_in_series(tmp_path: Path, said: dict[str, str], muffler: Flow | None) -> None:
    valve = Flow(1.3e-8, 0.3)
    wanted = valve if muffler is None else in_series((valve, muffler))
    for found in ports(tmp_path, **said)[2:]:
        assert found.c_m3_s_pa == pytest.approx(wanted.c_m3_s_pa)
        assert found.b == pytest.approx(wanted.b)


def test_a_clogged_muffler_makes_both_ways_slower(tmp_path: Path) -> None:
    """By 4 % here: tube and valve hold back more than it does."""
    for toward in ("out", "home"):
        clean, clogged = (stroke(tmp_path, toward, **said).end_us for said in ({}, {"VALVE": "muffler clogged"}))
        assert clogged > 1.02 * clean


def least_psi(folder: Path, **said: str) -> float:
    _, timeline = show_of(folder, **said)
    bench = next(one for one in timeline.series if one.of == "bench")
    return min(value for _, value in bench.points) / 6894.757


def test_a_smaller_regulator_lets_its_manifold_sag_further(tmp_path: Path) -> None:
    small, usual, large = (least_psi(tmp_path, REGULATOR=f"regulator conductance {c} dm3/s/bar") for c in (0.5, 4, 20))
    assert small < usual - 3 < usual < large
    assert least_psi(tmp_path) == pytest.approx(usual, abs=1e-6)


def test_a_nominal_flow_is_what_the_conductance_passes_from_6_bar_to_5(tmp_path: Path) -> None:
    q = read_quantity
    bench = Manifold(name="bench", source="shed", ports=4, regulator=q("60 psi"), regulator_passes=q("900 L/min"))
    flow = regulator_on(bench)
    assert free_flow_m3_s(flow, 7.01325e5, 6.01325e5) * 60_000 == pytest.approx(900, rel=1e-9)
    said = f"regulator conductance {flow.c_m3_s_pa * 1e8:.6f} dm3/s/bar"
    assert least_psi(tmp_path, REGULATOR="regulator passes 900 L/min") == pytest.approx(
        least_psi(tmp_path, REGULATOR=said), abs=0.01)


def test_a_tank_starts_as_full_as_it_is_said_to_be(tmp_path: Path) -> None:
    for psi in (None, 100, 30):
        _, timeline = show_of(tmp_path, **({} if psi is None else {"TANK": f"tank starts at {psi} psi"}))
        tank = next(one for one in timeline.series if one.of == "shed" and one.what == "pressure")
        assert tank.points[0][1] / 6894.757 == pytest.approx(psi or 125, abs=0.01)
    runs = next(one for one in timeline.series if one.what == "runs")
    assert max(value for _, value in runs.points) == 1.0
