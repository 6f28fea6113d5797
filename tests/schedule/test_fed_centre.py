"""A 5/3 valve whose centre feeds both ends: its cylinder goes out by the area of its rod, in the plan as in the dry
run."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest

from sequencer.air.from_rig import cylinder_air, unknowns_of
from sequencer.air.request import described_by
from sequencer.air.stroke import predict_stroke
from sequencer.checks import Checked, check_file
from sequencer.checks.air_together import run as shared
from sequencer.checks.air_together import supplies
from sequencer.checks.facts import Facts
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.schedule.supply import request_for

SHOW = """show "Signal box"
compressor shed like compressor_60_gal:
manifold bench on shed: ports 4, regulator 90 psi
board box like avr328
sensor step like push_button: on box in0
prop window:
    air from bench port 1, tube 3/8 in, length 3 ft, regulator 60 psi
    reach none
    valve shove: kind 5/3, solenoids 2, without power centre pressurised, on box out1, back on box out2
    cylinder ram: on shove, bore 1-1/2 in, rod ROD, stroke 6 in, moves 4 lb, cushioned, friction 8 N
    scare creep on step trips:
        0 s:    ram retracts
        3 s:    shove closes
        then:   ram retracts
"""


def checked(folder: Path, rod: str) -> Checked:
    path = folder / "box.show"
    path.write_text(SHOW.replace("ROD", rod), encoding="utf-8")
    return check_file(path)


def test_the_plan_knows_how_slowly_it_goes(tmp_path: Path) -> None:
    found = checked(tmp_path, "1 in")
    assert found.compiled is not None, [finding.message for finding in found.findings]
    fed, plain = (predict_stroke(request) for by in ("fed", None)
                  if (request := request_for(found.show.parts, "window.ram", 0.0, "out", by=by)) is not None)
    # The same rod, pushed by the air on its own area against the air that it has to push out.
    assert fed.arrives and fed.end_us > 1.2 * plain.end_us
    timeline = run(set_up(found.compiled, found.show), Asked((Trigger("step", 1000, 1200),), 1, 12_000))
    out = next(one for one in timeline.tracks[0].movements if one.toward == "out" and one.commanded > 3000)
    assert out.ends - out.commanded == pytest.approx(fed.end_us / 1000, rel=0.02)
    # `then` waits for the slowest that it may be.
    home = [one for one in timeline.tracks[0].movements if one.toward == "home" and one.commanded > out.commanded]
    assert home[0].commanded - out.commanded >= fed.slowest_us / 1000 - 2


def test_its_force_is_pressure_times_the_area_of_the_rod(tmp_path: Path) -> None:
    """What is left of cap less ring: pi / 4 x 1 in squared, at 60 psi 47.1 lbf."""
    found = checked(tmp_path, "1 in")
    request = request_for(found.show.parts, "window.ram", 0.0, "out", by="fed")
    assert request is not None
    air = cylinder_air(described_by(request), unknowns_of(request.cylinder), "out")
    push = (air.supply_pa - air.ambient_pa) * (air.cap.area_m2 - air.rod.area_m2)
    assert push / 4.4482216 == pytest.approx(47.12, abs=0.01)


def test_a_rod_too_thin_to_push_itself_out_is_told(tmp_path: Path) -> None:
    told = {rod: [finding.message for finding in checked(tmp_path, rod).findings if finding.code == "A008"]
            for rod in ("1 in", "1/8 in")}
    assert told["1 in"] == []  # it rests out, where the centre leaves it
    # 60 psi x pi / 4 x (1/8 in)^2 = 0.736 lbf; 8 N sliding stand against it with half as much again: 2.7 lbf.
    assert "with 0.736 lbf against 2.7 lbf, and stays where it is or creeps" in told["1/8 in"][0]


@pytest.mark.parametrize("centre", ["pressurised", "closed", "exhausted"])
def test_a_run_on_the_shared_supply_knows_what_the_centre_does(tmp_path: Path, centre: str) -> None:
    """The rod of a scare reckoned on its supply goes where it goes in the dry run, also once its valve is let go."""
    path = tmp_path / "box.show"
    path.write_text(SHOW.replace("ROD", "1 in").replace("centre pressurised", f"centre {centre}").replace(
        "3 s:    shove closes", "1.5 s:    ram extends\n        1.62 s:    shove closes"), encoding="utf-8")
    found = check_file(path)
    assert found.compiled is not None and found.plan is not None, [one.message for one in found.findings]
    facts = Facts(found.show, True, {}, plan=found.plan)
    planned, = found.plan.routines
    air, = supplies(facts)
    trace = shared(facts, air, [(planned, 0)])
    assert trace is not None
    timeline = run(set_up(found.compiled, found.show), Asked((Trigger("step", 1000, 1200),), 1, 3500))
    low, high = trace.props[0].cylinder.ends_m
    shared_line = [(round((1.02 + t) * 1e6), (x - low) / (high - low)) for t, x, _ in trace.props[0].track]
    for ms in (1500, 1560, 1600, 1700, 1800, 1900, 2000):
        us = (ms + 1020) * 1000
        assert on(shared_line, us) == pytest.approx(on(timeline.tracks[0].points, us), abs=0.02), (centre, ms)


def on(line: Sequence[tuple[int, float]], us: int) -> float:
    """Where a line of (us, share) is at a moment."""
    (a, x), (b, y) = next((one, two) for one, two in pairwise(line) if one[0] <= us < two[0])
    return x + (y - x) * (us - a) / (b - a)
