"""A tank and its compressor against closed forms, and a supply's volumes against the closed forms of filling.

Sources of the values: those of `test_published_air` (S09, S10, D01, D02, D04: pump-up test of ORNL, duty by an ideal
compressor, filling and emptying by the exact integral of the flow law).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air import tank as closed
from sequencer.air.compressor import RT0, TankRun
from sequencer.air.flow import Flow
from sequencer.air.gas import DENSITY_ANR_KG_M3, P_ATMOSPHERE_PA
from sequencer.air.manifold import Cells
from sequencer.air.supply import Compressor, Node, Tank

BAR, HALF = 1e5, Flow(0.5e-8, 0.3)


def test_a_tank_is_pumped_up_in_the_time_of_the_closed_form() -> None:
    """S10: 6 gal from 0 to 150 psi gauge at 1.2e-3 m3/s; and cut-out is found to the millisecond."""
    psi, gallon = 6894.757, 3.785411784e-3
    compressor = Compressor(1.2e-3, P_ATMOSPHERE_PA + 120 * psi, P_ATMOSPHERE_PA + 150 * psi)
    run = TankRun(Tank(6 * gallon, P_ATMOSPHERE_PA, compressor))
    run.advance(1000.0, 0.0)
    on, off = run.switches
    assert (on.at_s, on.what, off.what) == (0.0, "on", "off")
    expected = closed.pump_up_s(6 * gallon, P_ATMOSPHERE_PA, P_ATMOSPHERE_PA + 150 * psi, 1.2e-3)
    assert off.at_s == pytest.approx(expected, abs=1e-3)
    assert off.at_s == pytest.approx(188.9, rel=0.05)


def test_a_steady_demand_gives_the_duty_of_the_closed_form() -> None:
    """S09: 1.5 of 2.6; the share of the time it runs, over whole cycles."""
    run = TankRun(Tank(0.05, 9e5, Compressor(2.6e-3, 8e5, 9e5)))
    for _ in range(20_000):
        run.advance(0.5, 1.5e-3 * DENSITY_ANR_KG_M3 * 0.5)
    ons = [one.at_s for one in run.switches if one.what == "on"]
    offs = [one.at_s for one in run.switches if one.what == "off"]
    runs = sum(off - on for on, off in zip(ons[1:], offs[1:], strict=False) if off < ons[-1])
    share = runs / (ons[-1] - ons[1])
    assert share == pytest.approx(closed.duty(1.5, 2.6), rel=2e-3) == pytest.approx(0.57692, rel=2e-3)
    assert run.pressure_pa > 7.99e5


@given(st.floats(0.05, 0.95), st.floats(60, 1200))
def test_from_rest_it_may_run_its_share_of_the_window_and_then_has_to_cool(duty: float, window: float) -> None:
    run = TankRun(Tank(1.0, 7e5, Compressor(1e-4, 8e5, 20e5, duty, window)))
    run.advance(5 * window, 0.0)
    assert [one.what for one in run.switches[:4]] == ["on", "locked out", "released", "on"]
    assert run.switches[1].at_s == pytest.approx(duty * window, rel=1e-6)
    rested = run.switches[2].at_s - run.switches[1].at_s
    assert rested == pytest.approx((1 - duty) * window / 2, rel=1e-6)


@given(st.lists(st.tuples(st.floats(0.01, 30), st.floats(0, 0.02)), min_size=1, max_size=30), st.floats(0, 1e-3),
       st.floats(0.1, 1.0))
def test_no_air_is_lost_in_a_tank_and_the_steps_do_not_matter(draws: list[tuple[float, float]], leak: float,
                                                              duty: float) -> None:
    tank = Tank(0.08, 9e5, Compressor(2e-3, 8e5, 9.5e5, duty, 60.0), leak)
    run = TankRun(tank)
    for time_s, kg in draws:
        run.advance(time_s, kg)
    drawn = sum(kg for _, kg in draws) - run.short_kg
    start = 9e5 * 0.08 / RT0
    assert start + run.delivered_kg - run.lost_kg - drawn == pytest.approx(run.mass_kg, abs=1e-9)
    assert run.mass_kg >= 0
    even, other, whole = TankRun(tank), TankRun(tank), sum(time_s for time_s, _ in draws)
    even.advance(whole, 1e-4 * whole)
    for _ in range(7):
        other.advance(whole / 7, 1e-4 * whole / 7)
    assert even.mass_kg == pytest.approx(other.mass_kg, rel=1e-6)
    assert [one.what for one in even.switches] == [one.what for one in other.switches]


def test_a_tank_without_a_compressor_only_empties_and_says_what_it_was_short_of() -> None:
    run = TankRun(Tank(0.01, 2e5))
    run.advance(10.0, 0.05)
    assert run.mass_kg == 0.0 and run.pressure_pa == 0.0
    assert run.short_kg == pytest.approx(0.05 - 2e5 * 0.01 / RT0)


def filled_until(way: Flow, tank_pa: float, start_pa: float, goal_pa: float, step_s: float) -> float:
    """When a litre behind a plain way from an endless tank comes to a pressure, by the steps of the supply."""
    cells = Cells((Node("vessel", 1e-3, way),), start_pa)
    time_s, pressure = 0.0, start_pa
    while True:
        then = cells.step(step_s, tank_pa, [0.0])
        rising = goal_pa > start_pa
        if (then[0] >= goal_pa) if rising else (then[0] <= goal_pa):
            return time_s + step_s * (goal_pa - pressure) / (then[0] - pressure)
        cells.accept(step_s, then, [0.0])
        time_s, pressure = time_s + step_s, then[0]


@pytest.mark.parametrize(("tank", "start", "goal", "printed"), [
    (7 * BAR, BAR, 2.1 * BAR, 0.31429), (7 * BAR, BAR, 5 * BAR, 1.20096),
])
def test_a_vessel_fills_as_the_closed_form_says(tank: float, start: float, goal: float, printed: float) -> None:
    """D01 while choked, D02 beyond it."""
    found = filled_until(HALF, tank, start, goal, 0.02)
    assert found == pytest.approx(closed.fill_s(1e-3, HALF, tank, start, goal), rel=1e-3)
    assert found == pytest.approx(printed, rel=2e-3)


def test_a_vessel_empties_through_a_choked_way_as_the_closed_form_says() -> None:
    """D04: 8 bar down to 3.3775 bar against 1 bar."""
    found = filled_until(HALF, BAR, 8 * BAR, 3.3775 * BAR, 0.02)
    assert found == pytest.approx(closed.empty_s(1e-3, HALF, BAR, 8 * BAR, 3.3775 * BAR), rel=1e-3)
    assert found == pytest.approx(1.72461, rel=2e-3)


def test_steps_of_any_length_keep_a_regulated_node_within_its_set_pressure() -> None:
    """Stiff or not: a small node behind a wide regulator, drawn from and left alone."""
    for volume in (1e-5, 1e-3, 0.1):
        for step_s in (0.001, 0.02, 0.5):
            cells = Cells((Node("bench", volume, Flow(8e-8, 0.35), None, 7e5, 0.5e5),), 9e5)
            for turn in range(200):
                drawn = [0.004 * step_s if turn < 100 else 0.0]
                cells.accept(step_s, cells.step(step_s, 9e5, drawn), drawn)
                assert 5e5 < cells.node_pa(0) < 7.1e5, (volume, step_s)
            assert cells.node_pa(0) == pytest.approx(7e5, rel=0.015)


def test_what_a_regulator_gives_while_it_is_drawn_from_is_its_droop() -> None:
    """As `parts.regulator_outlet_pa` has it, once the node has settled."""
    from sequencer.air.parts import Regulator, regulator_outlet_pa

    drawn_m3_s, way = 8e-3, Flow(4e-8, 0.35)
    cells = Cells((Node("bench", 1e-3, way, None, 7e5, 0.5e5),), 9e5)
    for _ in range(100):
        drawn = [drawn_m3_s * DENSITY_ANR_KG_M3 * 0.02]
        cells.accept(0.02, cells.step(0.02, 9e5, drawn), drawn)
    assert cells.node_pa(0) == pytest.approx(regulator_outlet_pa(Regulator(way, 0.5e5), 7e5, 9e5, drawn_m3_s), rel=1e-4)
