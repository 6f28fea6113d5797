"""A rod that stands while its air has all but settled: the state some time later in closed form, without steps.

Near equal pressures flow is straight, so a pressure comes up to that of its source exponentially; after that it trails
by what the flow takes that the wall still draws: air that cools shrinks and more comes in. Temperatures approach T0 at
constant pressure. Saves nine steps in ten of a prop that is moved now and then.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from sequencer.air.cylinder import CylinderAir, Port
from sequencer.air.flow import BETA, share
from sequencer.air.gas import DENSITY_ANR_KG_M3, GAMMA, GAS_CONSTANT_J_KG_K, HEAT_CAPACITY_J_KG_K, T_ANR_K
from sequencer.frozen import frozen

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
DECAYS = 7.0
"""Time constants after which a pressure counts as settled: what was 1 % off then is 1e-5 off."""
WAYS_OF_A_PORT = 14


@frozen
class Way:
    """A port's way near equal pressures, in kg/(s Pa): through the valve to the tube, and on into or out of the
    chamber. `valve` is infinite where the tube's air is in the chamber. `fed`: from the supply, at `source_pa`.
    """

    port: Port
    volume_m3: float
    source_pa: float
    fed: bool
    valve: float
    enter: float
    leave: float


def ways_in(cylinder: CylinderAir, ways: Sequence[Any], x_m: float) -> list[Way]:
    """The ways that the valve makes (see `solver.WAY_NUMBERS`), for the ends that hold air of their own."""
    found, at = [], 0
    for port, run in ((cylinder.cap, x_m), (cylinder.rod, cylinder.stroke_m - x_m)):
        if port.open:
            continue
        source, fed, valve, enter, leave = (ways[at + index] for index in (0, 1, 5, 9, 13))
        found.append(Way(port, port.dead_m3 + port.area_m2 * run, source, fed,
                         valve if port.node_m3 > 0 else math.inf, enter, leave))
        at += WAYS_OF_A_PORT
    return found


def settling_s(cylinder: CylinderAir, ways: Sequence[Way]) -> float:
    """How long the slowest pressure needs to settle; infinite where a port is shut."""
    slowest, held = math.inf, 0.0
    for way in ways:
        narrow = min(way.enter, way.leave)
        if narrow <= 0 or way.valve <= 0:
            return math.inf
        slope = 1 / (1 / narrow + 1 / way.valve)
        slowest = min(slowest, RT0 * slope / (way.volume_m3 + way.port.node_m3))
        held += (way.volume_m3 + way.port.node_m3) if way.fed else 0.0
    if cylinder.manifold is not None:
        slowest = min(slowest, RT0 * _regulator_slope(cylinder) / (cylinder.manifold.volume_m3 + held))
    return DECAYS / slowest


def settled_after(cylinder: CylinderAir, ways: Sequence[Way], gases: Sequence[float], time_s: float) -> list[float]:
    """The state of the air after a time, in the order it came in."""
    warm, flows, blown, at = list[float](), list[float](), list[list[float]](), 0
    for way in ways:
        then, flow = _at_the_wall(cylinder, way, _once_even(way, gases[at], gases[at + 1]), time_s)
        warm.append(then)
        flows.append(flow)
        at += 2 + (way.port.node_m3 > 0)
        blown.append(list(gases[at:at + 1]) if way.port.quick_pa > 0 else [])
        at += way.port.quick_pa > 0
    supply = cylinder.supply_pa
    if cylinder.manifold is not None:
        drawn = sum(flow for way, flow in zip(ways, flows, strict=True) if way.fed)
        supply -= max(drawn, 0.0) / _regulator_slope(cylinder)
    found: list[float] = []
    for way, flow, then, out in zip(ways, flows, warm, blown, strict=True):
        tube = (supply if way.fed else way.source_pa) - flow / way.valve
        pressure = tube - flow / (way.enter if flow > 0 else way.leave * math.sqrt(T_ANR_K / then))
        found += [pressure, pressure * way.volume_m3 / (GAS_CONSTANT_J_KG_K * then)]
        found += [tube] if way.port.node_m3 > 0 else []
        found += out
    return [*found, supply] if cylinder.manifold is not None else found


def _once_even(way: Way, pressure: float, mass: float) -> float:
    """Temperature once the pressure has come up or down to its source's, the wall apart: dp V = gamma R T* dm."""
    short = way.source_pa - pressure
    carried = T_ANR_K if short > 0 else pressure * way.volume_m3 / (mass * GAS_CONSTANT_J_KG_K)
    mass += short * way.volume_m3 / (GAMMA * GAS_CONSTANT_J_KG_K * carried)
    return way.source_pa * way.volume_m3 / (mass * GAS_CONSTANT_J_KG_K)


def _at_the_wall(cylinder: CylinderAir, way: Way, warm: float, time_s: float) -> tuple[float, float]:
    """Temperature after a time at constant pressure beside a wall at T0, and the flow into the chamber then.

    With y = T - T0 and a = h A_w R / (cp p V): y' = -a y (y + T0) while it swells (T < T0), and that times T / T0
    while it shrinks, since then air at T0 comes in. With u = y / T: ln u resp. ln u - u falls by a T0 t.
    """
    area = way.port.area_m2
    wall = cylinder.wall_w_m2_k * (2 * area + math.pi * cylinder.bore_m * way.volume_m3 / area)
    passed = wall * RT0 / (HEAT_CAPACITY_J_KG_K * way.source_pa * way.volume_m3) * time_s
    first = (warm - T_ANR_K) / warm
    u = first * math.exp(-passed)
    if first > 0:
        for _ in range(6):
            u = first * math.exp(u - first - passed)
    then = T_ANR_K / (1 - u)
    return then, wall * (then - T_ANR_K) / (HEAT_CAPACITY_J_KG_K * min(then, T_ANR_K))


def _regulator_slope(cylinder: CylinderAir) -> float:
    """kg/s more for each Pa that the manifold falls below its set pressure."""
    manifold = cylinder.manifold
    assert manifold is not None
    choked = manifold.regulator.c_m3_s_pa * DENSITY_ANR_KG_M3 * manifold.inlet_pa
    ratio = min(cylinder.supply_pa / manifold.inlet_pa, BETA)
    return choked * share(ratio, manifold.regulator.b) / manifold.band_pa
