"""The motion against SciPy's Radau on the same equations, written out plainly in `reference`, for random cylinders.

Source of the expected values: `scipy.integrate.solve_ivp(method="Radau", rtol=1e-7)`.
"""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from tests.air import reference
from tests.air.case_form import Case, case_of, errors_of
from tests.bench.stroke_cases import AIR, ARRIVAL, END_SPEED

SEEDS = range(24)


def random_params(rng: random.Random) -> dict[str, Any]:
    """A cylinder as a prop may have it, of any make-up the equations know."""
    bore = rng.choice([0.016, 0.025, 0.032, 0.04, 0.05, 0.063])
    rod, stroke = bore * rng.uniform(0.25, 0.45), rng.choice([0.05, 0.1, 0.2, 0.4])
    cap = math.pi / 4 * bore**2
    ring, friction = cap - math.pi / 4 * rod**2, rng.uniform(0.1, 0.5) * 1e5 * cap
    tube, length, single = rng.choice([0.0025, 0.004, 0.00635]), rng.uniform(0.3, 4.0), rng.random() < 0.25
    return {
        "bore": bore, "rod": rod, "stroke": stroke, "x0": 0.0, "AA": cap, "AB": ring, "deadA": cap * 0.008 + 2e-6,
        "deadB": ring * 0.008 + 2e-6, "A_open": False, "B_open": single, "mass": rng.uniform(0.5, 2e4 * cap),
        "angle": rng.choice([-60.0, 0.0, 30.0, 90.0]), "Fe0": -30.0 if single else 0.0,
        "Fe1": -200.0 if single else 0.0, "Fc": friction, "Fs": friction * rng.uniform(1.1, 1.8), "vs": 0.05,
        "visc": 1000 * bore,
        "cushA": 0.0, "cushB": rng.choice([0.0, 0.015]), "cushC": 1e-9, "pS": rng.uniform(4e5, 8e5),
        "supply": rng.choice(["ideal", "node"]), "Vm": 1e-3, "Creg": rng.uniform(1e-8, 4e-8), "breg": 0.35, "band": 5e4,
        "pTank": 9.5e5, "Cvs": rng.uniform(0.5e-8, 3e-8), "bvs": 0.3, "Cve": rng.uniform(0.5e-8, 3e-8), "bve": 0.25,
        "Cmuf": 4e-8, "dA": tube, "LA": length, "dB": tube, "LB": length, "nodeA": rng.random() < 0.6,
        "nodeB": rng.random() < 0.6, "fcA": rng.uniform(0.3, 1), "fcB": rng.uniform(0.3, 1), "fcC": 0.7e-8, "fcb": 0.3,
        "fcFree": 1.2e-8, "fc_mode": rng.choice(["out", "in"]), "hasfc": rng.random() < 0.7, "t_on": 0.02,
        "t_off": 0.03, "t_ramp": 0.006, "hw": 60.0, "p0A": None, "p0B": None,
        "VtA": math.pi / 4 * tube**2 * length, "VtB": math.pi / 4 * tube**2 * length,
    }


def random_case(seed: int) -> tuple[Case, reference.Run]:
    """Out, and home again some time later, be the rod there or not."""
    rng = random.Random(seed)
    params = random_params(rng)
    rest = "X" if params["B_open"] else "S"
    back = rng.uniform(0.15, 1.0)
    commands = [[0, "E", rest, 0], [0.0, "S", "E" if rest == "S" else "X", 1], [back, "E", rest, 0]]
    found = reference.run(params, commands, back + 1.5, "Radau", 1e-7)
    said = {
        "first_motion_s": found.first, "arrivals": found.arrivals, "end_hits": found.hits,
        "air_std_l": found.y[reference.SUPPLIED] / reference.RHO0 * 1000,
    }
    raw = {"name": f"random {seed}", "params": params, "commands": commands, "t_end": back + 1.5, "reference": said,
           "sensitive_stick_slip": len(found.stops) > 4}
    return case_of(raw), found


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_cylinder_moves_as_scipy_says(seed: int) -> None:
    case, found = random_case(seed)
    trace = case.move()
    errors = errors_of(case, trace)
    assert errors.missing == ()
    assert errors.arrival <= ARRIVAL
    assert errors.air <= AIR
    for hit, (_, _, speed) in zip(trace.hits, found.hits, strict=True):
        # A rod that springs back a hair from its end meets it again at some mm/s: there is no hundredth of that.
        assert hit.v_m_s == pytest.approx(speed, rel=END_SPEED, abs=1e-3)
    assert trace.peak_cap_pa <= case.cylinder.supply_pa * 1.5
    assert trace.final_m == pytest.approx(found.y[reference.X], abs=2e-3 * case.cylinder.stroke_m)


def test_the_random_cylinders_are_of_every_make_up() -> None:
    kinds = [random_params(random.Random(seed)) for seed in SEEDS]
    for name in ("B_open", "nodeA", "hasfc"):
        assert {kind[name] for kind in kinds} == {True, False}
    assert {kind["supply"] for kind in kinds} == {"ideal", "node"}
    assert {kind["cushB"] for kind in kinds} == {0.0, 0.015}
