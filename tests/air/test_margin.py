"""The force that is left over: what it says of standing still is what the motion does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.air.cylinder import GRAVITY_M_S2, CylinderAir, Load
from sequencer.air.margin import margin_of
from sequencer.air.motion import move
from sequencer.air.spool import Command
from tests.air.case_form import read_cases

CASES = [case for case in read_cases() if case.cylinder.manifold is None and not case.cylinder.cap.open]


def lifting(cylinder: CylinderAir, share: float) -> CylinderAir:
    """The same, straight up, with the mass that leaves so much of its push at home."""
    bare = replace(cylinder, load=replace(cylinder.load, mass_kg=1e-6, angle_deg=90.0), start_m=cylinder.ends_m[0])
    push = (bare.supply_pa - bare.ambient_pa) * bare.cap.area_m2
    spring = -(bare.load.force_n + bare.load.rate_n_m * bare.ends_m[0])
    mass = (push * (1 - share) - bare.friction.static_n - spring) / GRAVITY_M_S2
    return replace(bare, load=Load(mass, 90.0, bare.load.force_n, bare.load.rate_n_m))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_load_just_below_the_push_moves_and_one_just_above_does_not(case) -> None:
    for share, moves in ((0.01, True), (-0.01, False)):
        cylinder = lifting(case.cylinder, share)
        assert cylinder.load.mass_kg > 0
        first = replace(cylinder, load=replace(cylinder.load, rate_n_m=0.0))
        assert margin_of(first, "out").share == pytest.approx(share, abs=1e-6)
        trace = move(cylinder, ("E", "S"), [Command(0.1, "S", "E", True)], 60.0)
        assert (trace.first_motion_s is not None) is moves


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_at_the_pressure_that_it_names_so_much_is_left(case) -> None:
    margin = margin_of(case.cylinder, "out")
    wanted = margin.pressure_for(0.5)
    assert wanted is not None
    then = margin_of(replace(case.cylinder, supply_pa=case.cylinder.ambient_pa + wanted), "out")
    assert then.share == pytest.approx(0.5, abs=1e-9) or margin.helps_n > margin.against_n


@pytest.mark.parametrize("case", [case for case in CASES if case.cylinder.rod.open], ids=lambda case: case.name)
def test_nothing_but_spring_and_weight_brings_home_what_has_one_port(case) -> None:
    margin = margin_of(case.cylinder, "home")
    assert (margin.air_n, margin.area_m2, margin.pressure_for(0.5)) == (0.0, 0.0, None)
    assert margin.helps_n > 0
