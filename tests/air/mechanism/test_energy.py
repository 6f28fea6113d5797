"""Free motion along a linkage keeps its energy, and goes as other descriptions of the same motion say."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from sequencer.air.mechanism.fourbar import Bars, SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad
from sequencer.air.mechanism.swing import Swing
from sequencer.air.mechanism.table import tabled
from tests.air.mechanism.bodies import ByVirtualWork
from tests.air.mechanism.geometries import arms, four_bars, linkages, stacks

G = 9.80665


def alone(*pieces: Linkage) -> Mechanism:
    return Mechanism(pieces, tuple(f"piece_{number}" for number in range(len(pieces))), 10.0)


def moved_freely(mechanism: Mechanism, start: tuple[float, float], seconds: float) -> tuple[np.ndarray, ...]:
    """x and v at 60 moments, from start until the time is up or either end is near. No push, no friction at all."""
    out = mechanism.out_m

    def right(_: float, state: np.ndarray) -> tuple[float, float]:
        mass, half, load = mechanism.load_at(state[0], 0.0)
        return state[1], (-load - half * state[1] ** 2) / mass

    def near_end(_: float, state: np.ndarray) -> float:
        return min(state[0] - 0.02 * out, 0.98 * out - state[0])

    near_end.terminal = True
    done = solve_ivp(right, (0, seconds), start, "DOP853", rtol=1e-11, atol=1e-13, events=near_end, dense_output=True)
    at = np.linspace(0, done.t[-1], 60)
    return (at, *done.sol(at))


@settings(max_examples=150, deadline=None)
@given(linkages, st.floats(0.3, 0.7), st.sampled_from((-1.0, 1.0)))
def test_a_free_motion_keeps_kinetic_and_potential_energy_together(
    linkage: Linkage, part: float, way: float
) -> None:
    # With a rod of 0.2 kg, as every rod has some mass: where a rocker turns back its load stands still, and a rod
    # without mass would go there without bound.
    assume(not isinstance(linkage, RopeLift) or linkage.stretch_m == 0)
    out = linkage.out_m
    # Near a dead centre places bend so sharply that a step five times this spoils the differences.
    work = ByVirtualWork(linkage, 2e-4 * out)
    _, xs, vs = moved_freely(alone(linkage, StraightLoad(0.2)), (part * out, way * out * 2), 1.0)
    # The potential from the places of the masses, the kinetic energy from their speeds: not from the linkage.
    kinetic = [0.5 * (work.mass(x) + 0.2) * v**2 for x, v in zip(xs, vs, strict=True)]
    total = [moving + work.potential(x) for moving, x in zip(kinetic, xs, strict=True)]
    assert max(total) - min(total) <= 1e-6 * max(kinetic) + 1e-7


def test_a_lever_let_go_swings_as_the_pendulum_it_is() -> None:
    # A compound pendulum: I theta'' = -moment x cos(theta) (any textbook of mechanics), told by its angle alone. The
    # rod, which does nothing, is where that angle puts it.
    swing = Swing(0.12, 0.5, math.radians(-100), math.radians(-60), math.radians(50))
    arm = SwungArm(swing, 0.7, 3.0, 2.0)
    inertia, moment = (3.0 + 2.0 / 3) * 0.49, (3.0 + 1.0) * G * 0.7

    at, xs, _ = moved_freely(alone(arm), (0.5 * swing.out_m, 0.0), 2.0)
    angle = swing.turn_at(0.5 * swing.out_m)[0]
    told = solve_ivp(lambda _, s: (s[1], -moment / inertia * math.cos(s[0])), (0, at[-1]), (angle, 0.0), "DOP853",
                     t_eval=at, rtol=1e-11, atol=1e-13)
    assert at[-1] > 0.2
    assert xs == pytest.approx([swing.pin_to_pin_m(a) - swing.home_m for a in told.y[0]], abs=1e-8)


def test_a_mass_between_springs_swings_as_a_harmonic_oscillator() -> None:
    # x = x0 cos(sqrt(k / m) t) about the place of rest (any textbook): k = 800 N/m, m = 2 kg, rest at 0.1 m.
    home = OutsideSpring(500.0, 0.0, pushes_home=True)
    out = OutsideSpring(300.0, 80.0, pushes_home=False)
    load = StraightLoad(2.0, out_m=0.25)
    at, xs, _ = moved_freely(alone(load, home, out), (0.15, 0.0), 1.0)
    assert xs == pytest.approx(0.1 + 0.05 * np.cos(20.0 * at), abs=1e-8)


def test_a_mass_sliding_down_a_slope_falls_as_galileo_says() -> None:
    # s = g sin(angle) t^2 / 2.
    load = StraightLoad(7.0, math.radians(-30), out_m=3.0)
    at, xs, _ = moved_freely(alone(load), (0.1, 0.0), 0.7)
    assert xs == pytest.approx(0.1 + G / 4 * at**2, abs=1e-9)


def test_a_weight_on_a_rope_draws_a_sledge_as_atwood_says() -> None:
    # Atwood's machine with a sledge: a = M g / (m + M) (any textbook of mechanics).
    rope, sledge = RopeLift(1.0, 1, 1.0, pulls_out=False), StraightLoad(3.0)
    at, xs, _ = moved_freely(alone(rope, sledge), (0.1, 0.0), 0.7)
    assert xs == pytest.approx(0.1 + G / 4 * at**2 / 2, abs=1e-9)


def test_a_rope_that_gives_ends_with_the_energy_it_was_lifted_by() -> None:
    # The sledge that lifts a weight by a rope which gives 4 cm: what one loses the other has, over the whole corner.
    rope, sledge = RopeLift(2.0, 2, 0.5, pulls_out=True, stretch_m=0.04), StraightLoad(10.0)
    _, xs, vs = moved_freely(alone(rope, sledge), (0.011, 3.0), 0.15)
    energy = [(5.0 + abs(rope.lifted_at(x)[1]) ** 2) * v**2 + 2.0 * G * rope.lifted_at(x)[0]
              for x, v in zip(xs, vs, strict=True)]
    assert xs[-1] > 0.1
    assert max(energy) - min(energy) < 1e-6 * energy[0]


@settings(max_examples=40, deadline=None)
@given(st.one_of(arms(), four_bars(), stacks()))
def test_a_table_is_as_near_as_it_says_and_its_slope_is_that_of_its_mass(linkage: Linkage) -> None:
    try:
        table, error = tabled(linkage, 48)
    except ValueError:
        # More cells do, unless the load stands still somewhere (a rocker that turns back).
        masses = [linkage.terms(part / 2000 * linkage.out_m)[0] for part in range(2001)]
        if min(masses) > 1e-3 * max(masses):
            tabled(linkage, 1024)
        return
    places = np.linspace(0.003, 0.997, 181) * linkage.out_m
    exact, found = ([piece.terms(x) for x in places] for piece in (linkage, table))
    assert min(row[0] for row in found) >= 0
    for term in (0, 2):
        most = max(abs(row[term]) for row in exact)
        assert max(abs(a[term] - b[term]) for a, b in zip(exact, found, strict=True)) <= 1.5 * error * most + 1e-12
    step, most = linkage.out_m * 1e-5, max(row[0] for row in found)
    for x in places[::20]:
        by_mass = (table.terms(x + step)[0] - table.terms(x - step)[0]) / (4 * step)
        assert table.terms(x)[1] == pytest.approx(by_mass, rel=1e-4, abs=1e-4 * most / linkage.out_m)


def test_a_table_that_would_make_a_mass_negative_is_refused() -> None:
    # Crank and coupler in one line within the stroke: the rocker turns back, its load stands still, the mass is 0.
    g, c, p, r = 0.6, 0.2, 0.5, 0.4
    turn = math.acos(((c + p) ** 2 + g * g - r * r) / (2 * (c + p) * g))
    swing = Swing(0.15, 0.5, turn - 1.6, turn - 0.7, turn + 0.71)
    with pytest.raises(ValueError, match="would fall below 0"):
        tabled(SwungBars(swing, Bars(g, c, p, r), 3.0), 4)


def test_twice_the_cells_give_a_sixteenth_of_the_error() -> None:
    # Hermite's cubic is of the fourth order (any textbook of numerical analysis).
    arm = SwungArm(Swing(0.1, 0.4, math.radians(-60), math.radians(30), math.radians(80)), 0.6, 2.0)
    coarse, fine = (tabled(arm, cells)[1] for cells in (16, 32))
    assert 12 < coarse / fine < 20
