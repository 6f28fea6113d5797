"""A tank while air is drawn from it: its pressure, and when its compressor cuts in and out and is locked out.

Between two such moments the mass runs straight, so each of them is found in closed form, not by steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sequencer.air.gas import DENSITY_ANR_KG_M3, GAS_CONSTANT_J_KG_K, T_ANR_K
from sequencer.air.supply import Tank

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
RELEASE = 0.5
"""A lockout ends when so much of the bucket of running time is left (assumed)."""

Switched = Literal["on", "off", "locked out", "released"]


@dataclass(frozen=True, slots=True)
class Switch:
    """The compressor at a moment: `on` at cut-in, `off` at cut-out, `locked out` by its duty, `released`."""

    at_s: float
    what: Switched


class TankRun:
    """A tank from 0 s on. `switches` is what its compressor did; `delivered_kg` what it gave, `lost_kg` what leaked."""

    def __init__(self, tank: Tank) -> None:
        self.tank = tank
        self.time_s = 0.0
        self.mass_kg = tank.start_pa * tank.volume_m3 / RT0
        self.on = self.locked = False
        self.used_s = self.delivered_kg = self.lost_kg = self.short_kg = 0.0
        self.switches: list[Switch] = []
        self._switch()

    @property
    def pressure_pa(self) -> float:
        return self.mass_kg * RT0 / self.tank.volume_m3

    def advance(self, time_s: float, drawn_kg: float) -> None:
        """So much time passes, in which so much is drawn evenly. What is not there any more is `short_kg`."""
        left, draw = time_s, drawn_kg / time_s if time_s > 0 else 0.0
        while left > 1e-12:
            rate, fills = self._rate(draw), self._filling()
            span = min(left, self._until_switch(rate, fills))
            self._pass(span, rate, fills)
            left -= span
            self._switch()

    def _rate(self, draw: float) -> float:
        leak = self.tank.leak_m3_s * DENSITY_ANR_KG_M3 if self.mass_kg > 0 else 0.0
        return self._delivery() - draw - leak

    def _delivery(self) -> float:
        compressor = self.tank.compressor
        return compressor.delivery_m3_s * DENSITY_ANR_KG_M3 if compressor is not None and self.on else 0.0

    def _filling(self) -> float:
        """How fast the bucket of running time fills, in s/s."""
        compressor = self.tank.compressor
        if compressor is None:
            return 0.0
        return 1 - compressor.duty if self.on else -compressor.duty

    def _until_switch(self, rate: float, fills: float) -> float:
        compressor = self.tank.compressor
        if compressor is None:
            return math.inf
        found = [math.inf]
        goal = compressor.cut_out_pa if self.on else compressor.cut_in_pa
        missing = goal * self.tank.volume_m3 / RT0 - self.mass_kg
        if rate and not self.locked and missing / rate > 0:
            found.append(missing / rate)
        if self.on and fills > 0:
            found.append((self._bucket() - self.used_s) / fills)
        if self.locked:
            found.append((self.used_s - RELEASE * self._bucket()) / -fills)
        return max(min(found), 1e-9)

    def _bucket(self) -> float:
        compressor = self.tank.compressor
        assert compressor is not None
        return compressor.duty * (1 - compressor.duty) * compressor.window_s

    def _pass(self, span: float, rate: float, fills: float) -> None:
        self.time_s += span
        self.delivered_kg += self._delivery() * span
        self.lost_kg += self.tank.leak_m3_s * DENSITY_ANR_KG_M3 * span if self.mass_kg > 0 else 0.0
        self.mass_kg += rate * span
        if self.mass_kg < 0:
            self.short_kg -= self.mass_kg
            self.mass_kg = 0.0
        self.used_s = max(self.used_s + fills * span, 0.0)

    def _switch(self) -> None:
        compressor = self.tank.compressor
        if compressor is None:
            return
        pressure, tiny = self.pressure_pa, 1e-3
        if self.locked and self.used_s <= RELEASE * self._bucket() + 1e-6:
            self.locked = False
            self.switches.append(Switch(self.time_s, "released"))
        if self.on and pressure >= compressor.cut_out_pa - tiny:
            self.on = False
            self.switches.append(Switch(self.time_s, "off"))
        elif self.on and compressor.duty < 1 and self.used_s >= self._bucket() - 1e-6:
            self.on, self.locked = False, True
            self.switches.append(Switch(self.time_s, "locked out"))
        elif not self.on and not self.locked and pressure <= compressor.cut_in_pa + tiny:
            self.on = True
            self.switches.append(Switch(self.time_s, "on"))
