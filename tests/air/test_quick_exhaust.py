"""A quick exhaust at the port: against SciPy on equations written out here, and what it is fitted for."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from sequencer.air.flow import Flow
from sequencer.air.lines import End, Line, port_of
from sequencer.air.motion import Trace, move
from sequencer.air.parts import CRACKING_PA, exhaust_past_quick_exhaust
from tests.air import reference
from tests.air.reference import CP, GAMMA, PATM, PB, T0, Plain, R, V, X, flow
from tests.air.yard import CASES

OUT = exhaust_past_quick_exhaust()


class QuickAtRod(Plain):
    """The rod end goes straight outside once its tube is below it by the cracking pressure; nothing goes back."""

    def port_rates(self, port: str, t: float, y: Any, dy: Any) -> None:
        if port == "A":
            super().port_rates(port, t, y, dy)
            return
        p, path = self.p, self.path["B"]
        pressure, mass, q = y[PB], y[PB + 1], y[PB + 2]
        volume = self.volume("B", y[X])
        temperature = max(pressure * volume / (max(mass, 1e-9) * R), 30.0)
        state, c, b = self.valve_path("B", t)
        source = y[reference.PM] if state == "S" else PATM
        through = 0.0
        if state != "X":
            through = flow(c, b, source, q, T0) if source > q else -flow(c, b, q, source, T0)
        into, out = 0.0, 0.0
        if q > pressure:
            into = flow(*path["in"], q, pressure, T0)
        elif pressure > PATM:
            lifted = min((pressure - q) / CRACKING_PA, 1.0)
            out = lifted * flow(OUT.c_m3_s_pa, OUT.b, pressure, PATM, temperature)
        dy[PB + 2] = R * T0 / p["VtB"] * (through - into)
        wall = 2 * p["AB"] + math.pi * p["bore"] * volume / p["AB"]
        carried = CP * (T0 * into - temperature * out)
        dy[PB + 1] = into - out
        heat = p["hw"] * wall * (T0 - temperature)
        dy[PB] = ((GAMMA - 1) * (carried + heat) + GAMMA * pressure * p["AB"] * y[V]) / volume


def with_quick(name: str) -> Trace:
    case = CASES[name]
    rod = replace(case.cylinder.rod, leave=OUT, quick_pa=CRACKING_PA)
    return move(replace(case.cylinder, rod=rod), case.before, case.commands, case.until_s)


@pytest.mark.parametrize("name", ["base_ext_horizontal", "vertical_up_ext", "no_fc_heavy_20kg"])
def test_a_quick_exhaust_moves_the_rod_as_scipy_has_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    case, ours = CASES[name], with_quick(name)
    monkeypatch.setattr(reference, "Plain", QuickAtRod)
    theirs = reference.run(case.raw["params"], case.raw["commands"], case.until_s, "Radau", 1e-8)
    (at, _, v), = theirs.hits
    assert ours.hits[0].at_s == pytest.approx(at, rel=2e-3)
    assert ours.hits[0].v_m_s == pytest.approx(v, rel=5e-3)
    assert ours.lead_s == pytest.approx((theirs.first or 0.0) - case.commands[0].at_s, rel=5e-3)


def test_it_makes_a_metered_cylinder_quick_and_loses_no_air() -> None:
    quick, metered = with_quick("base_ext_horizontal"), CASES["base_ext_horizontal"].move()
    assert quick.hits[0].at_s < 0.6 * metered.hits[0].at_s
    assert quick.exhausted_std_l == pytest.approx(metered.exhausted_std_l, rel=1e-3)
    blown = quick.run.samples[-1][3 + quick.run.make_up.gases().index("eB")]
    assert 0 < blown < quick.run.exhausted_kg


def test_a_port_with_a_quick_exhaust_lets_out_by_it_and_by_the_flow_control_before_it() -> None:
    line = Line(Flow(1.3e-8, 0.3), Flow(1.3e-8, 0.3), 0.0043, 2.0, quick=OUT)
    port = port_of(line, End(1e-3, 1e-5, 1e-4))
    assert (port.leave, port.quick_pa) == (OUT, CRACKING_PA)
    assert port_of(replace(line, quick=None), End(1e-3, 1e-5, 1e-4)).quick_pa == 0.0


def test_shut_in_by_a_closed_centre_nothing_is_let_out() -> None:
    """A lumped line too: the line is shut as well, so its pressure does not fall below the chamber's."""
    for name in ("base_ext_horizontal", "base_lumped_ext"):
        case = CASES[name]
        cylinder = replace(case.cylinder, rod=replace(case.cylinder.rod, leave=OUT, quick_pa=CRACKING_PA))
        trace = move(cylinder, ("X", "X"), [], 1.0)
        assert trace.exhausted_std_l == pytest.approx(0.0, abs=1e-6)
