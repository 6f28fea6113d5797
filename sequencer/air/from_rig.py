"""A cylinder, its valve and its tube as a builder names them -> what the motion solver takes, for a whole stroke.

What the builder does not say gets a default, with its source and what it costs if wrong beside it (arrivals computed
with the model: vertical lift, 2-1/2 in bore, needle at 0.25). `Unknowns` are what nobody reads off a part, to be
fitted to a prop that was timed. Springs and mechanisms outside the cylinder are left to who knows the whole rig.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sequencer.air.cylinder import CylinderAir, Friction, Load, Port, Spool
from sequencer.air.flow import Flow
from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.air.lines import End, Line, port_of
from sequencer.air.motion import Trace, move
from sequencer.air.needle import FlowControl
from sequencer.air.spool import Command, Way
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import SetLevel
from sequencer.rig.valve import Valve, coils

Toward = Literal["out", "home"]

FRICTION_PA = 0.30e5
"""Sliding friction as a pressure on the bore: 5 % of the force at 6 bar, from memory; trade articles say 10 to 25 %.
Twice as much: 4 to 5 % later; a spring may then never bring its rod home."""
BREAKAWAY = 1.5
"""Friction at rest as a multiple of that when sliding, from memory."""
VISCOUS_N_S_M2 = 1000.0
"""Viscous friction for a metre of bore, 40 N s/m at 40 mm, from memory. Twice as much: 0.5 to 2.2 % later."""
DEAD_LENGTH_M, DEAD_M3 = 0.008, 2e-6
"""Air left at an end: 8 mm of bore and 2 ml (assumed). Twice as much: up to 1.2 % later."""
BARE_KG = 0.5
"""What moves where no load is said: piston, rod and a fitting (assumed)."""
CUSHION_M, CUSHION_C = 0.015, 1e-9
"""An air cushion: its length and what its screw lets through (assumed, measure yours)."""


@dataclass(frozen=True, slots=True)
class Described:
    """What stands in the show of one cylinder. `tube_length_m` 0: the valve sits on it."""

    cylinder: Cylinder
    valve: Valve
    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float


@dataclass(frozen=True, slots=True)
class Unknowns:
    """Settings of the needles, 0 to 1, and the friction as a multiple of what is said or assumed."""

    needle_out: float
    needle_back: float
    friction: float = 1.0


def unknowns_of(cylinder: Cylinder) -> Unknowns:
    """As the builder says them."""
    return Unknowns(cylinder.needle_out.si, cylinder.needle_back.si)


def cylinder_air(described: Described, unknowns: Unknowns, toward: Toward) -> CylinderAir:
    """The cylinder at rest at the end it leaves.

    `needle out` meters the air that leaves while the rod goes out; of a single-acting cylinder that has no air to
    leave, so there it meters the air that enters. Raises ValueError for what cannot be (see `lines`, `needle`).
    """
    part = described.cylinder
    cap = math.pi / 4 * part.bore.si**2
    ring = cap - math.pi / 4 * part.rod.si**2
    rod = Port(ring, open=True) if part.acting == "single" else _port(described, ring, unknowns.needle_out, True)
    entering = part.acting == "single" and toward == "out"
    sliding = (FRICTION_PA * cap if part.friction is None else part.friction.si) * unknowns.friction
    spring = part.returned_by == "spring"
    return CylinderAir(
        bore_m=part.bore.si, stroke_m=part.stroke.si, rod=rod,
        cap=_port(described, cap, unknowns.needle_out if entering else unknowns.needle_back, not entering),
        load=Load(BARE_KG if part.moves is None else part.moves.si, math.degrees(part.lifts.si),
                  -part.preload.si if spring and part.preload is not None else 0.0,
                  -part.rate.si if spring and part.rate is not None else 0.0),
        friction=Friction(sliding, BREAKAWAY * sliding, viscous_n_s_m=VISCOUS_N_S_M2 * part.bore.si),
        supply_pa=described.pressure_pa_gauge + P_ATMOSPHERE_PA,
        spool=Spool(described.valve.responds.si, described.valve.releases.si, described.valve.shift.si),
        start_m=0.0 if toward == "out" else part.stroke.si,
    )


def stroke_trace(described: Described, unknowns: Unknowns, toward: Toward, until_s: float) -> Trace:
    """A whole stroke, commanded at 0, after the rod has rested at the other end with the valve the other way.

    Raises ValueError where there is no such cylinder, `integrate.NotSettling` where it cannot be reckoned.
    """
    return move_whole(cylinder_air(described, unknowns, toward), described.valve, toward, until_s)


def move_whole(cylinder: CylinderAir, valve: Valve, toward: Toward, until_s: float) -> Trace:
    """The same with a cylinder that is already numbers."""
    back: Toward = "home" if toward == "out" else "out"
    cap, rod = _ways(valve, toward)
    command = Command(0.0, cap, rod, _energised(valve, toward))
    return move(cylinder, _ways(valve, back), [command], until_s)


def _port(described: Described, area: float, setting: float, leaving: bool) -> Port:
    part, valve = described.cylinder, described.valve
    dead = area * DEAD_LENGTH_M + DEAD_M3 if part.dead_volume is None else part.dead_volume.si
    supply = Flow(valve.conductance.si, valve.critical_ratio.si)
    exhaust = Flow((valve.exhaust or valve.conductance).si, valve.critical_ratio.si)
    line = Line(supply, exhaust, described.tube_inner_m, described.tube_length_m,
                control=FlowControl(metering="out" if leaving else "in"), setting=setting)
    cushion = (CUSHION_M, CUSHION_C) if part.cushioned and part.stroke.si > 2 * CUSHION_M else (0.0, 0.0)
    return port_of(line, End(area, dead, area * part.stroke.si, *cushion))


def _ways(valve: Valve, toward: Toward) -> tuple[Way, Way]:
    """What the valve connects cap and rod end to; a closed 2/2 valve shuts the air in, any other lets it out."""
    if toward == "out":
        return "S", "E"
    return ("X" if valve.ports == "2/2" else "E"), "S"


def _energised(valve: Valve, toward: Toward) -> bool:
    last = coils(valve, toward)[-1]
    return not (isinstance(last, SetLevel) and last.level == 0.0)
