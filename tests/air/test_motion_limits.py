"""The motion where the answer is known without a model: closed forms, balances, symmetry, order of things."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from sequencer.air.cylinder import GRAVITY_M_S2, CylinderAir, Friction, Load, Port, Spool
from sequencer.air.flow import Flow, mass_flow_between_kg_s
from sequencer.air.gas import DENSITY_ANR_KG_M3, GAMMA, GAS_CONSTANT_J_KG_K, P_ATMOSPHERE_PA, T_ANR_K
from sequencer.air.integrate import make_up_of, numbers_of, ways_of
from sequencer.air.motion import Trace, move
from sequencer.air.solver import compiled
from sequencer.air.spool import Command, Piece
from tests.air.case_form import Case, read_cases

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
BORE, STROKE = 0.04, 0.2
CAP = math.pi / 4 * BORE**2
QUICK = Spool(0.0, 0.0, 1e-6)
OUT = [Command(0.0, "S", "E", True)]
FREE = Friction(0.0, 0.0)


def wide(area: float, c: float = 1e-8) -> Port:
    way = Flow(c, 0.3)
    return Port(area, area * 0.008 + 2e-6, way, way, Flow(1e-5, 0.5), Flow(1e-5, 0.5))


def cylinder(**other: object) -> CylinderAir:
    base = CylinderAir(BORE, STROKE, wide(CAP), wide(CAP * 0.85), Load(5.0), Friction(20.0, 30.0), 7e5)
    return replace(base, **other)


def test_a_mass_under_constant_force_arrives_when_newton_says() -> None:
    """t = sqrt(2 L m / F): as the ways grow without bound the chamber holds the supply's pressure."""
    port = Port(CAP, 1e-5, Flow(1e-3, 0.3), Flow(1e-3, 0.3), Flow(1e-2, 0.5), Flow(1e-2, 0.5))
    ram = cylinder(cap=port, rod=Port(CAP, open=True), load=Load(20.0), friction=FREE, spool=QUICK)
    force = (ram.supply_pa - P_ATMOSPHERE_PA) * CAP
    hit = move(ram, ("E", "X"), [Command(0.0, "S", "X", True)], 1.0).hits[0]
    assert hit.at_s == pytest.approx(math.sqrt(2 * STROKE * 20 / force), rel=1e-2)
    assert hit.energy_j == pytest.approx(force * STROKE, rel=1e-2)


def test_a_falling_mass_falls_freely() -> None:
    """x = g t^2 / 2 with both ends open."""
    ram = cylinder(rod=Port(CAP, open=True), load=Load(3.0, -90.0), friction=FREE, supply_pa=P_ATMOSPHERE_PA)
    big = replace(ram.cap, exhaust=Flow(1e-2, 0.3), enter=Flow(1e-2, 0.5), leave=Flow(1e-2, 0.5))
    hit = move(replace(ram, cap=big), ("E", "X"), [], 1.0).hits[0]
    assert hit.at_s == pytest.approx(math.sqrt(2 * STROKE / GRAVITY_M_S2), rel=2e-3)
    assert hit.v_m_s == pytest.approx(math.sqrt(2 * STROKE * GRAVITY_M_S2), rel=2e-3)


def blocked(c: float, wall: float, **other: object) -> CylinderAir:
    """A rod that nothing moves: the cap end is a vessel of fixed volume."""
    port = replace(wide(CAP, c), dead_m3=1e-3, enter=Flow(1.0, 0.5), leave=Flow(1.0, 0.5))
    values = {"cap": port, "rod": Port(CAP, open=True), "friction": Friction(1e6, 1e6), "spool": QUICK,
              "wall_w_m2_k": wall, **other}
    return cylinder(**values)


def pressures(trace: Trace) -> list[tuple[float, float]]:
    return [(sample.t_s, sample.cap_pa) for sample in trace.samples()]


def test_an_isothermal_vessel_fills_straight_and_then_as_a_sine() -> None:
    """dp/dt = R T0 C rho p_s f(p / p_s) / V: straight while choked, then sin((t - t_b) ...) up to the straight line
    near equal pressures. Closed form of the flow law of ISO 6358 at constant temperature."""
    supply, c, b, volume = 7e5, 1e-8, 0.3, 1e-3
    trace = move(blocked(c, 1e9), ("E", "X"), [Command(0.0, "S", "X", True)], 1.0, 1e-6)
    rate = RT0 * c * DENSITY_ANR_KG_M3 * supply / volume
    choked_until = (b * supply - P_ATMOSPHERE_PA) / rate
    seen = 0
    for t, p in pressures(trace):
        angle = rate * (t - choked_until) / (supply * (1 - b))
        if t < 1e-4 or (t > choked_until and p > 0.985 * supply):
            continue
        wanted = (P_ATMOSPHERE_PA + rate * t if t <= choked_until else supply * (b + (1 - b) * math.sin(angle)))
        seen += 1
        assert p == pytest.approx(wanted, rel=2e-4)
    assert seen > 20


def test_an_adiabatic_vessel_empties_as_the_choked_closed_form() -> None:
    """p = p0 (1 + (gamma - 1) / 2 t / tau)^(-2 gamma / (gamma - 1)), tau = V / (C rho R T0), while choked.

    Integrated by hand from dp/dt = -gamma R T mdot / V with T = T0 (p / p0)^((gamma - 1) / gamma).
    """
    c, volume = 1e-8, 1e-3
    trace = move(blocked(c, 0.0), ("S", "X"), [Command(0.0, "E", "X", True)], 1.0, 1e-6)
    tau, seen = volume / (c * DENSITY_ANR_KG_M3 * RT0), 0
    for t, p in pressures(trace):
        if t < 1e-4 or P_ATMOSPHERE_PA / p > 0.29:
            continue
        wanted = 7e5 * (1 + (GAMMA - 1) / 2 * t / tau) ** (-2 * GAMMA / (GAMMA - 1))
        seen += 1
        assert p == pytest.approx(wanted, rel=5e-4)
    assert seen > 10


@pytest.mark.parametrize(("share", "moves"), [(0.99, True), (1.01, False)])
def test_nothing_moves_below_breakaway(share: float, moves: bool) -> None:
    """The load is a share of what the pressure can lift beside the friction at rest."""
    lifts = (7e5 - P_ATMOSPHERE_PA) * CAP - 30.0
    trace = move(cylinder(load=Load(share * lifts / GRAVITY_M_S2, 90.0)), ("E", "S"), OUT, 4.0)
    assert (trace.first_motion_s is not None) == moves
    assert ("never moved" in trace.flags) != moves


@pytest.mark.parametrize("case", read_cases(), ids=lambda case: case.name)
def test_air_is_neither_made_nor_lost(case: Case) -> None:
    """What came in and what left, against the sums of the flows themselves in the reference (Radau at 1e-9)."""
    trace, said = case.move(), case.raw["reference"]
    through = said["supply_kg"] + abs(said["exhaust_kg"])
    assert trace.run.supplied_kg == pytest.approx(said["supply_kg"], abs=1e-3 * through)
    assert trace.run.exhausted_kg == pytest.approx(said["exhaust_kg"], abs=1e-3 * through)


def test_energy_is_neither_made_nor_lost() -> None:
    """Over a whole stroke without wall heat: internal, kinetic and friction's energy and the work against the air
    outside are what flowed in less what flowed out, each summed over the samples; closed to 1 part in 1,000."""
    ram = cylinder(wall_w_m2_k=0.0, friction=Friction(20.0, 30.0, viscous_n_s_m=40.0))
    trace = move(ram, ("E", "S"), OUT, 0.6, 1e-7)
    hit = trace.hits[0]
    samples = [sample for sample in trace.run.samples if sample[0] <= hit.at_s and (sample[2] or sample[0] < hit.at_s)]
    balance, scale = _energy(ram, samples)
    assert abs(balance) <= 1e-3 * scale


def _energy(ram: CylinderAir, samples: list[tuple[float, ...]]) -> tuple[float, float]:
    """What is left over, and the energy that came in."""
    cv, cp = GAS_CONSTANT_J_KG_K / (GAMMA - 1), GAMMA * GAS_CONSTANT_J_KG_K / (GAMMA - 1)

    def inside(sample: tuple[float, ...]) -> float:
        _, x, v, pa, _, pb, _ = sample
        volumes = (ram.cap.dead_m3 + ram.cap.area_m2 * x, ram.rod.dead_m3 + ram.rod.area_m2 * (STROKE - x))
        air = (pa * volumes[0] + pb * volumes[1]) * cv / GAS_CONSTANT_J_KG_K
        outside = P_ATMOSPHERE_PA * (ram.cap.area_m2 - ram.rod.area_m2) * x
        return air + ram.load.mass_kg * v * v / 2 + outside

    def temperature(sample: tuple[float, ...]) -> float:
        volume = ram.rod.dead_m3 + ram.rod.area_m2 * (STROKE - sample[1])
        return sample[5] * volume / (sample[6] * GAS_CONSTANT_J_KG_K)

    came, gone, rubbed = 0.0, 0.0, 0.0
    for one, two in pairwise(samples):
        came += cp * T_ANR_K * (two[4] - one[4])
        gone += cp * (temperature(one) + temperature(two)) / 2 * (one[6] - two[6])
        middle = (one[2] + two[2]) / 2
        rubbed += (20 + 10 * math.exp(-((middle / 0.05) ** 2)) + 40 * middle) * (two[1] - one[1])
    return came - gone - rubbed - (inside(samples[-1]) - inside(samples[0])), came


def test_a_flow_inside_is_the_flow_of_the_formulas() -> None:
    """The inlined law equals `flow.mass_flow_between_kg_s` at every ratio, both ways."""
    ram = blocked(1.2e-8, 60.0)
    solver = compiled(make_up_of(ram))(numbers_of(ram, 1e-4))
    solver.connect(ways_of(ram, make_up_of(ram), Piece(1.0, "S", "X")))
    way = Flow(1.2e-8, 0.3)
    for percent in range(5, 200):
        pressure = ram.supply_pa * percent / 100
        mass = pressure * 1e-3 / RT0 * 1.07
        rates = solver.resting(0.0, pressure, mass)
        wanted = mass_flow_between_kg_s(way, ram.supply_pa, T_ANR_K, pressure, T_ANR_K / 1.07)
        assert rates[1] == pytest.approx(wanted, rel=1e-6, abs=1e-12), percent


@pytest.mark.parametrize("name", ["base_ext_horizontal", "double_jab_3_pulses", "53_exhaust_centre_drop"])
def test_finer_steps_change_nothing_that_counts(name: str) -> None:
    case = next(case for case in read_cases() if case.name == name)
    coarse, fine = case.move(), case.move(tolerance=2e-6)
    for one, two in zip(coarse.hits, fine.hits, strict=True):
        assert one.at_s == pytest.approx(two.at_s, rel=1e-3)
        assert one.v_m_s == pytest.approx(two.v_m_s, rel=5e-3)
    assert coarse.air_std_l == pytest.approx(fine.air_std_l, rel=1e-3)


def test_a_cylinder_seen_in_a_mirror_moves_the_same() -> None:
    """Ends swapped, load and springs turned round: home becomes out."""
    case = read_cases()[0]
    ram = case.cylinder
    load = replace(ram.load, angle_deg=30.0)
    ram = replace(ram, load=load)
    turned = replace(ram, cap=ram.rod, rod=ram.cap, start_m=ram.stroke_m, load=replace(load, angle_deg=-30.0))
    out = move(ram, ("E", "S"), OUT, 1.5)
    home = move(turned, ("S", "E"), [Command(0.0, "E", "S", True)], 1.5)
    assert home.hits[0].end == "home"
    assert home.hits[0].at_s == pytest.approx(out.hits[0].at_s, rel=1e-6)
    assert home.hits[0].v_m_s == pytest.approx(-out.hits[0].v_m_s, rel=1e-5)
    assert home.air_std_l == pytest.approx(out.air_std_l, rel=1e-6)
    assert home.arrival_s(0.75, -1) == pytest.approx(out.arrival_s(0.25, 1), rel=1e-6)


def arrival(**other: object) -> float:
    trace = move(cylinder(**other), ("E", "S"), OUT, 6.0)
    return trace.hits[0].at_s


def test_more_load_is_never_faster() -> None:
    times = [arrival(load=Load(mass, 90.0)) for mass in (1, 3, 6, 10, 20, 30, 50)]
    assert times == sorted(times)


def test_more_pressure_starts_a_lift_sooner_from_a_vented_cylinder() -> None:
    """With the far end vented beforehand, more pressure can only help; with it filled, it first has more to vent."""
    times = []
    for bar in (3, 4, 5, 6, 7, 8):
        ram = cylinder(load=Load(12.0, 90.0), supply_pa=bar * 1e5 + P_ATMOSPHERE_PA)
        times.append(move(ram, ("E", "E"), OUT, 6.0).hits[0].at_s)
    assert times == sorted(times, reverse=True)


def test_a_wider_valve_is_never_slower() -> None:
    times = [arrival(cap=wide(CAP, c), rod=wide(CAP * 0.85, c)) for c in (0.2e-8, 0.5e-8, 1e-8, 2e-8, 5e-8)]
    assert times == sorted(times, reverse=True)


def test_more_friction_is_never_faster() -> None:
    times = [arrival(friction=Friction(f, 1.5 * f)) for f in (0.0, 10.0, 30.0, 80.0, 200.0)]
    assert times == sorted(times)
