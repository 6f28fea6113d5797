"""A valve that blows into the open: what it draws in a window, from the pressure before it. It has no state of its own.

Steady flow through the whole way at any moment (the air in a short tube is left out).
"""

from __future__ import annotations

import math

from sequencer.air.cylinder import Spool
from sequencer.air.flow import mass_flow_kg_s
from sequencer.air.gas import P_ATMOSPHERE_PA, T_ANR_K
from sequencer.air.spool import Command, Piece, told_to
from sequencer.air.supply import NozzleAir


class Nozzle:
    """`supplied_kg` counts from 0 s. Way `S` blows, any other is shut."""

    def __init__(self, nozzle: NozzleAir) -> None:
        self.nozzle = nozzle
        self.pieces = [Piece(math.inf, "X", "X")]
        self.supplied_kg = 0.0
        self._shifts: tuple[float, ...] = ()

    @property
    def spool(self) -> Spool:
        return self.nozzle.spool

    def command(self, command: Command) -> None:
        """As `mover.Mover.command`."""
        self.pieces, self._shifts = told_to(self.pieces, self._shifts, command, self.spool)

    def next_s(self) -> float:
        """When its valve next begins to move; now where it blows."""
        return -math.inf if self.pieces[0].cap == "S" else self.pieces[0].until_s

    def window(self, now_s: float, until_s: float, before_pa: float, after_pa: float) -> float:
        """What is drawn while the pressure before it goes straight from one to the other, in kg."""
        way, drawn, begun = self.nozzle.way, 0.0, now_s
        for piece in self.pieces:
            ends = min(piece.until_s, until_s)
            if piece.cap == "S" and ends > begun:
                middle = before_pa + (after_pa - before_pa) * ((begun + ends) / 2 - now_s) / (until_s - now_s)
                if middle > P_ATMOSPHERE_PA:
                    flow = mass_flow_kg_s(way.c_m3_s_pa, way.b, middle, P_ATMOSPHERE_PA, T_ANR_K)
                    drawn += flow * piece.cap_opening * (ends - begun)
            begun = ends
            if begun >= until_s:
                break
        return drawn

    def accept(self, until_s: float, drawn_kg: float) -> None:
        self.supplied_kg += drawn_kg
        while self.pieces[0].until_s <= until_s + 1e-12:
            del self.pieces[0]
