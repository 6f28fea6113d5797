"""Cylinders on one supply against SciPy on the equations of all of them and of their supply at once (`joint`)."""

from __future__ import annotations

import numpy as np
import pytest

from sequencer.air.gas import kg_of_std_l
from sequencer.air.shared_run import SharedTrace, shared_run
from tests.air.joint import Joint, JointRun, run_joint
from tests.air.yard import Feed, Told, joint_of, yard_of

UNTIL_S = 1.6
ROW = ("base_ext_horizontal", "vertical_up_ext", "small_bore_3/4_light", "no_fc_heavy_20kg")
SCENES = {
    "all at once": ([Told(name, 0.1, 0.6) for name in ROW], Feed()),
    "through a narrow line": ([Told(name, 0.1 + 0.05 * at, 0.6) for at, name in enumerate(ROW)], Feed(c=1.2e-8)),
    "from a small tank, some turned back midway": (
        [Told(name, at_s, for_s) for name, at_s, for_s in
         zip(ROW, (0.1, 0.3, 0.5, 0.7), (0.15, 0.8, 0.3, 0.5), strict=True)],
        Feed(c=2e-8, tank_m3=0.02, tank_pa=7.2e5)),
    "a second time right after the first": ([Told(ROW[0], 0.1, 0.40), Told(ROW[3], 0.5, 0.45)], Feed(c=1.5e-8)),
}


def worst_arrival(told: list[Told], ours: SharedTrace, theirs: JointRun) -> tuple[float, float]:
    """The largest errors of an end met, as a share of the time since its command, and of the speed at it."""
    late, fast = 0.0, 0.0
    for at, one in enumerate(told):
        wanted = sorted((t, v) for number, t, _, v in theirs.hits if number == at)
        hits = ours.props[at].hits
        assert len(hits) == len(wanted) > 0, one
        for hit, (t, v) in zip(hits, wanted, strict=True):
            begun = one.out_s if t < one.out_s + one.for_s else one.out_s + one.for_s
            late, fast = max(late, abs(hit.at_s - t) / (t - begun)), max(fast, abs(hit.v_m_s / v - 1))
    return late, fast


@pytest.mark.parametrize("scene", SCENES)
def test_the_supply_and_the_cylinders_are_as_one_system_of_equations_says(scene: str) -> None:
    told, feed = SCENES[scene]
    yard, commands = yard_of(told, feed)
    ours, theirs = shared_run(commands, yard, UNTIL_S), run_joint(Joint(*joint_of(told, feed)), UNTIL_S)
    late, fast = worst_arrival(told, ours, theirs)
    assert late < 0.01
    assert fast < 0.02
    points = np.array(ours.nodes[0].points)
    manifold = np.interp(points[:, 0], theirs.samples[0], theirs.samples[1])
    off = np.abs(points[:, 1] / manifold - 1)
    assert np.max(off) < 0.02, "in the 20 ms in which several valves open"
    assert np.mean(off) < 0.002
    assert ours.nodes[0].least.pressure_pa == pytest.approx(theirs.samples[1].min(), rel=2e-3)
    assert ours.tank[-1][1] == pytest.approx(theirs.samples[2][-1], rel=1e-3)
    for prop, drawn in zip(ours.props, theirs.drawn, strict=True):
        assert kg_of_std_l(prop.air_std_l) == pytest.approx(drawn, rel=0.015)
    assert not ours.unsettled


PAIRS = {
    "light and heavy": [Told(ROW[0], 0.1, 1.0, 2.0), Told(ROW[0], 0.1, 1.0, 20.0)],
    "one up, one hanging down": [Told(ROW[1], 0.1, 1.0), Told("vertical_hanging_ext_down", 0.1, 1.0)],
}


@pytest.mark.parametrize("pair", PAIRS)
def test_two_cylinders_on_one_valve_share_its_flow(pair: str) -> None:
    """`share` is the same parting of the valve; `junction` what happens behind a real one, with no rule of series."""
    told, feed = PAIRS[pair], Feed(c=8e-8)
    yard, commands = yard_of(told, feed, valve="v")
    ours = shared_run(commands, yard, 2.4)
    cases, supply = joint_of(told, feed)
    late, fast = worst_arrival(told, ours, run_joint(Joint(cases, supply, ["v", "v"]), 2.4))
    assert late < 0.005
    assert fast < 0.02
    real = run_joint(Joint(cases, supply, ["v", "v"], "junction"), 2.4)
    assert worst_arrival(told, ours, real)[0] < 0.012
    alone = shared_run(commands[:2], yard_of(told[:1], feed)[0], 2.4)
    assert ours.props[0].hits[0].at_s > alone.props[0].hits[0].at_s + 0.05
