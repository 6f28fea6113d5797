"""Which part to change: cases in which a builder would know, and that the advice does what it says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.air.fit import arrival_s
from sequencer.air.from_rig import NO_NEEDLE, Unknowns
from sequencer.air.limits import what_limits
from tests.air.test_fit import described


def test_a_nearly_closed_needle_limits_its_stroke() -> None:
    limits = what_limits(described(), Unknowns(0.2, 1.0), "out", 10.0)
    assert limits[0].cause == "needle"
    # Choked meter-out: a speed in proportion to what it passes, 1 - 1 / 1.2 of the time (common practice).
    assert limits[0].gain == pytest.approx(1 / 6, rel=0.15)


def test_a_long_thin_tube_limits_a_big_bore() -> None:
    prop = replace(described(bore="2-1/2 in", rod="5/8 in"), tube_inner_m=0.0025, tube_length_m=10.0)
    limits = what_limits(prop, Unknowns(1.0, 1.0), "out", 30.0)
    assert limits[0].cause == "tube"
    assert "needle" not in {limit.cause for limit in limits}


def test_an_open_flow_control_counts_as_a_part_and_none_does_not() -> None:
    """Speed metered out goes with what the control passes, so a small one between a short tube and a valve limits."""
    prop = replace(described(), tube_length_m=0.2)
    gains = {limit.cause: limit.gain for limit in what_limits(prop, Unknowns(1.0, 1.0), "out", 10.0)}
    assert gains["flow control"] == max(gains.values())
    without = {limit.cause for limit in what_limits(prop, Unknowns(NO_NEEDLE, NO_NEEDLE), "out", 10.0)}
    assert not {"needle", "flow control"} & without


def test_a_load_near_the_force_of_the_cylinder_is_limited_by_it_or_the_supply() -> None:
    prop = described(moves="38 kg", lifts="90 deg")
    causes = [limit.cause for limit in what_limits(prop, Unknowns(1.0, 1.0), "out", 20.0)]
    assert set(causes[:2]) == {"mass", "supply"}


def test_a_rod_that_never_arrives_has_no_order_of_causes() -> None:
    assert what_limits(described(moves="80 kg", lifts="90 deg"), Unknowns(1.0, 1.0), "out", 5.0) == ()


def test_the_gain_is_what_the_change_brings() -> None:
    prop, unknowns = described(), Unknowns(0.5, 0.5)
    gain = {limit.cause: limit.gain for limit in what_limits(prop, unknowns, "out", 10.0)}["mass"]
    lighter = described(moves=f"{9 * 0.8} lb")
    then, now = arrival_s(lighter, unknowns, "out", 10.0), arrival_s(prop, unknowns, "out", 10.0)
    assert gain == pytest.approx(1 - then / now, abs=1e-9)
