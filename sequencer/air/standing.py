"""The air of props that stand still on one node -> one volume behind one way, whose pressure is a cell of the supply.

A valve that feeds a cylinder connects it both ways: when the node sags, what stands still gives air back, through its
needles and tubes. All of it on a node is taken as one volume behind the sum of the ways. What is still warm when it
comes to rest draws a little more as it cools, at its own pressure, which the cell books as time goes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from sequencer.air.cylinder import CylinderAir, Port
from sequencer.air.flow import Flow
from sequencer.air.gas import GAS_CONSTANT_J_KG_K, HEAT_CAPACITY_J_KG_K, T_ANR_K
from sequencer.air.manifold import Cell
from sequencer.air.series import in_series

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K


@dataclass(frozen=True, slots=True)
class StillPort:
    """A port at the moment it came to rest: air in the chamber and in a tube of its own, its warmth, its ways.

    Warmth is u = (T - T0) / T; it falls by `cooling_1_s` a second at constant pressure. `mass_kg` is all that is there.
    """

    fed: bool
    pressure_pa: float
    tube_pa: float
    volume_m3: float
    tube_m3: float
    mass_kg: float
    warm: float
    cooling_1_s: float
    blown_kg: float
    into: Flow
    back: Flow

    def warmth(self, after_s: float) -> float:
        return self.warm * math.exp(-self.cooling_1_s * after_s)

    def holds_kg(self, pressure_pa: float, warm: float) -> float:
        """All air there at a pressure and a warmth."""
        return pressure_pa * (self.volume_m3 * (1 - warm) + self.tube_m3) / RT0

    def to_cool_kg(self, pressure_pa: float, warm: float) -> float:
        """What the chamber will take in at that pressure until it is as cold as its wall: p V u / (R T0)."""
        return pressure_pa * self.volume_m3 * warm / RT0


def still_port(cylinder: CylinderAir, port: Port, fed: bool, volume_m3: float, air: tuple[float, ...]) -> StillPort:
    """A port of a rod that stands. `air`: pressure and mass in the chamber, pressure in the tube, kg blown out."""
    pressure, mass, tube_pa, blown = air
    temperature = pressure * volume_m3 / (mass * GAS_CONSTANT_J_KG_K)
    wall = cylinder.wall_w_m2_k * (2 * port.area_m2 + math.pi * cylinder.bore_m * volume_m3 / port.area_m2)
    fall = wall * RT0 / (HEAT_CAPACITY_J_KG_K * pressure * volume_m3)
    into, back = _ways(port)
    return StillPort(fed, pressure, tube_pa, volume_m3, port.node_m3, mass + tube_pa * port.node_m3 / RT0,
                     1 - T_ANR_K / temperature, fall, blown, into, back)


@lru_cache(maxsize=512)
def _ways(port: Port) -> tuple[Flow, Flow]:
    """From the node into the chamber and back; through a quick exhaust nothing comes back."""
    before = (port.before,) if port.node_m3 > 0 else ()
    into = in_series((port.supply, *before, port.enter))
    back = Flow(0.0, 0.3) if port.quick_pa > 0 else in_series((port.supply, *before, port.leave))
    return into, back


class Standing:
    """What stands still on a node. `bounds` are the pressures between which every rod there stays where it is."""

    def __init__(self, cell: Cell, node: Cell) -> None:
        self._cell, self._node = cell, node
        self._ports: dict[tuple[int, int], StillPort] = {}
        self._bounds: dict[int, tuple[float, float]] = {}
        self.bounds = (0.0, math.inf)

    @property
    def pressure_pa(self) -> float:
        """Of what stands still; of the node itself where nothing does."""
        return self._cell.pressure_pa if self._ports else self._node.pressure_pa

    def join(self, whose: tuple[int, int], still: StillPort) -> None:
        cell = self._cell
        volume = still.volume_m3 + still.tube_m3
        brings = still.pressure_pa * still.volume_m3 + still.tube_pa * still.tube_m3
        cell.pressure_pa = (cell.pressure_pa * cell.volume_m3 + brings) / (cell.volume_m3 + volume)
        self._ports[whose] = still
        to_cool = still.to_cool_kg(still.pressure_pa, still.warm)
        old, new = abs(cell.cooling_kg), abs(to_cool)
        if old + new > 0:
            cell.cooling_s = (old + new) / (old / cell.cooling_s + new * still.cooling_1_s)
        cell.cooling_kg += to_cool
        self._sum_up()

    def leave(self, whose: tuple[int, int], warm: float) -> None:
        """A port is its own again, as warm as said; what it would still have drawn by cooling goes with it."""
        still = self._ports.pop(whose)
        self._cell.cooling_kg -= still.to_cool_kg(self._cell.pressure_pa, warm)
        self._sum_up()

    def hold(self, number: int, bounds: tuple[float, float] | None) -> None:
        """Between which pressures the rod with this number stays; None: it stands here no more."""
        if bounds is None:
            self._bounds.pop(number, None)
        else:
            self._bounds[number] = bounds
        lows, highs = [low for low, _ in self._bounds.values()], [high for _, high in self._bounds.values()]
        self.bounds = max(lows, default=0.0), min(highs, default=math.inf)

    def beyond(self) -> list[int]:
        """Rods that the pressure no longer holds."""
        pressure = self.pressure_pa
        if self.bounds[0] <= pressure <= self.bounds[1]:
            return []
        return [number for number, (low, high) in self._bounds.items() if not low <= pressure <= high]

    def _sum_up(self) -> None:
        cell, ports = self._cell, self._ports.values()
        cell.volume_m3 = sum(port.volume_m3 + port.tube_m3 for port in ports)
        cell.into = _side_by_side([port.into for port in ports])
        cell.back = _side_by_side([port.back for port in ports])
        if not ports:
            cell.cooling_kg = 0.0


def _side_by_side(ways: list[Flow]) -> Flow:
    """The sum of C, with the mean of b by C: these ways are alike, and their pressures are near each other."""
    c = sum(way.c_m3_s_pa for way in ways)
    return Flow(c, sum(way.c_m3_s_pa * way.b for way in ways) / c) if c > 0 else Flow(0.0, 0.3)
