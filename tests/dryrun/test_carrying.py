"""How far and how fast the end of a prop goes in a motion: closed forms, finite differences of where it is drawn, and
whole dry runs."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.carrying import Carrying, EndRun, Knot, end_runs
from sequencer.air.mechanism.fourbar import SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.swing import Swing
from sequencer.air.stroke import predict_stroke
from sequencer.checks import check_file
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.schedule.supply import request_for
from sequencer.show.model import Show
from tests.air.mechanism.geometries import arms, four_bars, ropes, stacks


def carrying(piece: Linkage, turning: bool = False) -> Carrying:
    mechanism = Mechanism((piece,), ("piece",), piece.out_m)
    return Carrying("ram", mechanism.out_m, mechanism, {"piece": "in"}, frozenset(["piece"] if turning else []))


def evenly(begin: float, end: float, takes_s: float) -> list[Knot]:
    speed = (end - begin) / takes_s
    return [(1e6 * takes_s * n / 50, begin + (end - begin) * n / 50, speed) for n in range(51)]


def swaying(n: int, of: int) -> tuple[float, float]:
    """A way out in one second that sets out and arrives softly: place and speed as shares."""
    t = n / of
    return (1 - math.cos(math.pi * t)) / 2, math.pi * math.sin(math.pi * t) / 2


def test_a_lever_at_right_angles_goes_as_its_arms() -> None:
    """Rod at right angles to an arm of 0.3 m, its end at 0.9 m: three times the rod's speed there. The way is short
    about that place, from 3-4-5."""
    near = 1e-3
    swing = Swing(0.3, 0.4, 0.0, math.pi / 2, math.pi / 2 + near)
    line = math.atan2(0.3, 0.4)
    lever = SwungArm(swing, 0.9, 2.0)
    of = carrying(lever, turning=True)
    found, = end_runs(of, 0.0, 1.0, evenly(0.0, 1.0, 2.0))
    rod_m_s = of.way_m / 2
    # The line of the cylinder is 0.3 cos(line) from the pivot.
    assert found.fastest_m_s == pytest.approx(rod_m_s * 0.9 / (0.3 * math.cos(line)), rel=2 * near)
    assert found.travel_m == pytest.approx(0.9 * near)
    assert found.turned_rad == pytest.approx(near)
    assert found.arrives_m_s == pytest.approx(found.fastest_m_s, rel=2 * near)


def test_a_scissor_goes_by_its_travel_ratio() -> None:
    """Two stages of 0.5 m from 45 to 60 deg: the top rises by 2 x 0.5 (sin 60 - sin 45), n / tan(theta) times as fast
    as the rod, so twice as fast at first."""
    of = carrying(ScissorStack(2, 0.5, math.radians(45), math.radians(60), 3.0))
    found, = end_runs(of, 0.0, 1.0, evenly(0.0, 1.0, 0.5))
    rod_m_s = of.way_m / 0.5
    assert found.travel_m == pytest.approx(math.sin(math.radians(60)) - math.sin(math.radians(45)))
    assert found.fastest_m_s == pytest.approx(2 * rod_m_s)
    assert found.arrives_m_s == pytest.approx(2 * rod_m_s / math.tan(math.radians(60)))
    assert found.turned_rad is None


@given(piece=st.one_of(arms(), four_bars(), stacks(), ropes()))
@settings(max_examples=60)
def test_the_greatest_speed_is_that_of_the_drawn_place(piece: Linkage) -> None:
    """Places of the end at 4000 moments of a motion, by themselves: the greatest distance from one to the next."""
    of, many = carrying(piece), 4000
    knots = [(1e6 * n / 40, *swaying(n, 40)) for n in range(41)]
    found, = end_runs(of, 0.0, 1.0, knots)
    places = [of.ends_at(swaying(n, many)[0])["piece"] for n in range(many + 1)]
    steps = [math.hypot(b.right_m - a.right_m, b.up_m - a.up_m) for a, b in pairwise(places)]
    assert found.fastest_m_s == pytest.approx(max(steps) * many, rel=0.02, abs=1e-9)
    forth = sum(b.travel_m - a.travel_m for a, b in pairwise(places))
    assert found.travel_m == pytest.approx(abs(forth), rel=1e-6, abs=1e-12)


@given(piece=st.one_of(arms(), four_bars()))
@settings(max_examples=60)
def test_what_turns_turns_by_the_sum_of_its_small_turns(piece: SwungArm | SwungBars) -> None:
    """Also where the angle of a rocker passes half a turn on the way, or it turns by more than that."""
    of = carrying(piece, turning=True)
    found, = end_runs(of, 0.0, 1.0, evenly(0.0, 1.0, 0.5))
    angles = [of.ends_at(n / 2000)["piece"].angle_rad for n in range(2001)]
    turns = sum(math.remainder(b - a, 2 * math.pi) for a, b in pairwise(angles))
    assert found.turned_rad == pytest.approx(abs(turns), abs=1e-6)


def test_a_motion_that_is_cut_short_does_not_arrive() -> None:
    found, = end_runs(carrying(ScissorStack(2, 0.5, 0.5, 0.9, 3.0)), 0.0, 0.6, evenly(0.0, 0.6, 0.3))
    assert found.arrives_m_s is None
    assert found.fastest_m_s > 0


def test_a_rod_that_drives_nothing_is_its_own_end() -> None:
    found, = end_runs(Carrying("ram", 0.2, None, {"ram": "mm"}, frozenset()), 1.0, 0.0, evenly(1.0, 0.0, 0.5))
    assert found == EndRun("ram", "mm", 0.2, None, pytest.approx(0.4), pytest.approx(0.4))


YARD = """show "Signal box"
SUPPLYboard box like avr328
sensor step like push_button: on box in0

prop gate:
    SOURCE, tube 1/4 in, length 6 ft, regulator 60 psi
    reach none
    valve shove: kind 5/2, without power retracts, on box out1
    cylinder ram like cylinder_round_1_1_2_in:
        on shove
        stroke 8 in
        needle out 40 %, needle back 60 %
    lever arm on ram:
        rod 8 in from the pivot
        cylinder 20 in from the pivot at -90 deg
        swings from -30 deg to 28 deg
        arm 36 in, carries 4 lb
    scare wave on step trips:
        0.2 s: ram extends
        2 s:   ram retracts
"""
SUPPLY = """compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi
manifold bench on shed: ports 8, regulator 90 psi
"""


def yard_of(folder: Path, supplied: bool) -> tuple[Show, Timeline]:
    text = YARD.replace("SUPPLY", SUPPLY if supplied else "").replace(
        "    SOURCE, tube", "    air from bench port 1, tube" if supplied else "    tube")
    if not supplied:
        text = text.replace("    tube 1/4 in, length 6 ft, regulator 60 psi\n", "").replace(
            "needle out 40 %, needle back 60 %", "tube 1/4 in long 6 ft, measured out 0.8 s, back 0.7 s at 60 psi")
    path = folder / "gate.show"
    path.write_text(text, encoding="utf-8")
    checked = check_file(path)
    assert checked.compiled is not None, [finding.message for finding in checked.findings]
    return checked.show, run(set_up(checked.compiled, checked.show), Asked((Trigger("step", 1000, 1200),), 1, 5000))


@pytest.mark.parametrize("supplied", [False, True])
def test_a_dry_run_tells_of_the_end_of_the_lever(tmp_path: Path, supplied: bool) -> None:
    """Beside the stroke by itself: the rod's speed there times arm x turn by place, from the law of cosines. A
    shared supply gives way a little, and what its rod did is kept every 20 ms. Where the rod sets out is read off the
    drawn line, to a thousandth of the way."""
    show, timeline = yard_of(tmp_path, supplied)
    track, = timeline.tracks
    assert [one.toward for one in track.movements] == ["out", "home"]
    pin, base, arm = 8 * 0.0254, 20 * 0.0254, 36 * 0.0254
    for movement, toward in zip(track.movements, ("out", "home"), strict=True):
        told, = movement.carries
        assert (told.part, told.unit) == ("gate.arm", "in")
        assert math.degrees(told.turned_rad or 0) == pytest.approx(58, rel=2e-3)
        assert told.travel_m == pytest.approx(arm * math.radians(58), rel=2e-3)
        request = request_for(show.parts, "gate.ram", 0.0 if toward == "out" else 1.0, toward)
        assert request is not None
        stroke = predict_stroke(request)
        home = math.sqrt(pin**2 + base**2 - 2 * pin * base * math.cos(math.radians(60)))

        def times_as_far(x: float, home: float = home) -> float:
            off = math.acos((pin**2 + base**2 - (home + x) ** 2) / (2 * pin * base))
            return arm / (pin * base * math.sin(off) / (home + x))

        near, last = 0.02 if supplied else 2e-3, stroke.trace.final_m
        assert told.arrives_m_s == pytest.approx(abs(stroke.end_speed_m_s) * times_as_far(last), rel=near)
        fastest = max(abs(sample.v_m_s) * times_as_far(sample.x_m) for sample in stroke.trace.samples())
        assert told.fastest_m_s == pytest.approx(fastest, rel=near)


