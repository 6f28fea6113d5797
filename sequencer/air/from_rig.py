"""A cylinder, its valve, its tube and what it drives, as a builder names them -> what the motion solver takes.

What the builder does not say gets a default, with its source and what it costs if wrong beside it (arrivals computed
with the model: vertical lift, 2-1/2 in bore, needle at 0.25). `Unknowns` are what nobody reads off a part, to be
fitted to a prop that was timed.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from sequencer.air.bare import rod_mass_kg
from sequencer.air.cylinder import CylinderAir, Friction, Load, Port, Spool
from sequencer.air.fittings import muffler_on, quick_exhaust_of
from sequencer.air.flow import Flow
from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.air.integrate import TOLERANCE, Until
from sequencer.air.lines import End, Line, port_of
from sequencer.air.motion import Trace, move, move_smoothly
from sequencer.air.needle import FREE, FULL, POWER, FlowControl, Metering
from sequencer.air.spool import Command, Way
from sequencer.air.tube import tube_delay_s
from sequencer.frozen import frozen
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import SetLevel
from sequencer.rig.valve import Valve, coils

if TYPE_CHECKING:
    from sequencer.air.mechanism.mechanism import Mechanism

Toward = Literal["out", "home"]
ValveWay = Literal["out", "home", "holds", "vented", "fed"]
"""What a valve does to its cylinder: sends it out or home, shuts both ends, vents both, feeds both."""

FRICTION_PA = 0.30e5
"""Sliding friction as a pressure on the bore: 5 % of the force at 6 bar, from memory; trade articles say 10 to 25 %.
Twice as much: 4 to 5 % later; a spring may then never bring its rod home."""
BREAKAWAY = 1.5
"""Friction at rest as a multiple of that when sliding, from memory."""
VISCOUS_N_S_M2 = 1000.0
"""Viscous friction for a metre of bore, 40 N s/m at 40 mm, from memory. Twice as much: 0.5 to 2.2 % later."""
DEAD_LENGTH_M, DEAD_M3 = 0.008, 2e-6
"""Air left at an end: 8 mm of bore and 2 ml (assumed). Twice as much: up to 1.2 % later."""
NO_NEEDLE = 5.0
"""The setting that stands for no flow control at all: it passes eleven times what an open one does."""
USUAL_TUBE_M, USUAL_VALVE = 4.318e-3, 1.3e-8
"""The 1/4 in tube, and the C of the valve, that `needle.FULL` and `FREE` are for; others go with the area (assumed)."""
CUSHION_M, CUSHION_C = 0.015, 1e-9
"""An air cushion: its length and what its screw lets through (assumed, measure yours)."""


class NoMechanism(ValueError):
    """The parts on a cylinder make no mechanism; the message says why, `part` and `field` where to look."""

    def __init__(self, sentence: str, part: str, field: str) -> None:
        super().__init__(sentence)
        self.part, self.field = part, field


@frozen
class Described:
    """What stands in the show of one cylinder. `tube_length_m` 0: the valve sits on it.

    `drives` are the parts of kinds such as lever, slide or spring that say they are on this cylinder.
    """

    cylinder: Cylinder
    valve: Valve
    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float
    drives: tuple[Part, ...] = ()


@frozen
class Unknowns:
    """What no part says: settings of the needles, and factors on what is said or assumed.

    A setting is 0 to 1; above 1 the flow control passes more than is assumed of one that is open, and from `NO_NEEDLE`
    on as good as everything.
    `friction` on the seals and guides of the cylinder, `delay` on the times of the valve, `flow` on what valve, tube
    and flow controls pass, all of them together.
    """

    needle_out: float
    needle_back: float
    friction: float = 1.0
    delay: float = 1.0
    flow: float = 1.0


def unknowns_of(cylinder: Cylinder) -> Unknowns:
    """As the builder says them."""
    out, back = (NO_NEEDLE if needle is None else needle.si for needle in (cylinder.needle_out, cylinder.needle_back))
    return Unknowns(out, back)


def cylinder_air(described: Described, unknowns: Unknowns, toward: Toward) -> CylinderAir:
    """The cylinder at rest at the end it leaves.

    `needle out` meters the air that leaves while the rod goes out; of a single-acting cylinder that has no air to
    leave, so there it meters the air that enters. Raises ValueError for what cannot be (see `lines`, `needle` and
    `mechanism.build`).
    """
    part, valve = described.cylinder, described.valve
    cap = math.pi / 4 * part.bore.si**2
    ring = cap - math.pi / 4 * part.rod.si**2
    cap_port = _port(described, unknowns, cap, unknowns.needle_back, "out", quick_exhaust_of(part, "back"))
    if part.acting == "single":
        rod_port = Port(ring, open=True)
        cap_port = replace(cap_port, enter=_port(described, unknowns, cap, unknowns.needle_out, "in").enter)
    else:
        rod_port = _port(described, unknowns, ring, unknowns.needle_out, "out", quick_exhaust_of(part, "out"))
    sliding = (FRICTION_PA * cap if part.friction is None else part.friction.si) * unknowns.friction
    drives = mechanism_on(described)
    wave = tube_delay_s(described.tube_length_m)
    out = part.stroke.si if drives is None else drives.out_m
    return CylinderAir(
        bore_m=part.bore.si, stroke_m=part.stroke.si, rod=rod_port, cap=cap_port, load=_load(described),
        friction=Friction(sliding, BREAKAWAY * sliding, viscous_n_s_m=VISCOUS_N_S_M2 * part.bore.si),
        supply_pa=described.pressure_pa_gauge + P_ATMOSPHERE_PA,
        spool=Spool(valve.responds.si * unknowns.delay + wave, valve.releases.si * unknowns.delay + wave,
                    valve.shift.si),
        start_m=0.0 if toward == "out" else out, out_m=out, drives=drives,
    )


def mechanism_on(described: Described) -> Mechanism | None:
    """What the cylinder drives beside its own load; None where it drives nothing.

    Raises NoMechanism where the parts make none.
    """
    if not described.drives:
        return None
    return mechanism_of_parts(described.cylinder, described.drives)


@lru_cache(maxsize=128)
def mechanism_of_parts(cylinder: Cylinder, parts: tuple[Any, ...]) -> Mechanism:
    """What these parts make on the cylinder, without its own load. Raises NoMechanism where they make nothing."""
    from sequencer.air.mechanism.build import mechanism_of
    from sequencer.air.mechanism.linkage import Impossible

    built = mechanism_of(cylinder, parts)
    if isinstance(built, Impossible):
        raise NoMechanism(built.sentence, built.part, built.field)
    # What the cylinder itself moves stands in its `Load`.
    return replace(built.without((cylinder.name,)), stroke_m=built.out_m, remarks=built.remarks)


def _load(described: Described) -> Load:
    """What hangs on the rod itself: said, else piston and rod; and the spring inside the cylinder."""
    part = described.cylinder
    spring = part.returned_by == "spring"
    force = -part.preload.si if spring and part.preload is not None else 0.0
    rate = -part.rate.si if spring and part.rate is not None else 0.0
    return Load(rod_mass_kg(part) if part.moves is None else part.moves.si, math.degrees(part.lifts.si), force, rate)


def stroke_trace(described: Described, unknowns: Unknowns, toward: Toward, until_s: float) -> Trace:
    """A whole stroke, commanded at 0, after the rod has rested at the other end with the valve the other way.

    Raises ValueError where there is no such cylinder, `integrate.NotSettling` where it cannot be reckoned.
    """
    return move_whole(cylinder_air(described, unknowns, toward), described.valve, toward, until_s)


def move_whole(cylinder: CylinderAir, valve: Valve, toward: Toward, until_s: float, until: Until = "time",
               tolerance: float = TOLERANCE) -> Trace:
    """The same with a cylinder that is already numbers; `until` and `tolerance` as in `motion.move`."""
    back: Toward = "home" if toward == "out" else "out"
    go = move if until == "time" else move_smoothly
    return go(cylinder, ways_of(valve, back), [command_of(valve, toward, 0.0)], until_s, tolerance, until)


def _port(described: Described, unknowns: Unknowns, area: float, setting: float, metering: Metering,
          quick: Flow | None = None) -> Port:
    part, valve = described.cylinder, described.valve
    dead = area * DEAD_LENGTH_M + DEAD_M3 if part.dead_volume is None else part.dead_volume.si
    supply = Flow(valve.conductance.si, valve.critical_ratio.si)
    exhaust = Flow((valve.exhaust or valve.conductance).si, valve.critical_ratio.si)
    line = Line(supply, exhaust, described.tube_inner_m, described.tube_length_m, muffler_on(valve),
                control=_control(described, setting, metering), setting=min(setting, 1.0), quick=quick)
    cushion = (CUSHION_M, CUSHION_C) if part.cushioned and part.stroke.si > 2 * CUSHION_M else (0.0, 0.0)
    port = port_of(line, End(area, dead, area * part.stroke.si, *cushion))
    return port if unknowns.flow == 1.0 else _passing(port, unknowns.flow)


def _passing(port: Port, share: float) -> Port:
    """The same where everything that air goes through passes that share of what was said of it."""
    def of(flow: Flow) -> Flow:
        return Flow(flow.c_m3_s_pa * share, flow.b)

    return replace(port, supply=of(port.supply), exhaust=of(port.exhaust), enter=of(port.enter), leave=of(port.leave),
                   before=of(port.before))


def _control(described: Described, setting: float, metering: Metering) -> FlowControl:
    """A flow control of the size of its tube, or of the valve where it has none."""
    if described.tube_length_m > 0:
        size = (described.tube_inner_m / USUAL_TUBE_M) ** 2
    else:
        size = described.valve.conductance.si / USUAL_VALVE
    full = FULL * size * max(setting, 1.0) ** POWER
    return FlowControl(full, max(FREE * size, full), metering=metering)


def ways_of(valve: Valve, way: ValveWay) -> tuple[Way, Way]:
    """What the valve connects cap and rod end to; a closed 2/2 valve shuts the air in, any other lets it out."""
    if way == "home" and valve.ports == "2/2":
        return "X", "S"
    return {"out": ("S", "E"), "home": ("E", "S"), "holds": ("X", "X"), "vented": ("E", "E"), "fed": ("S", "S")}[way]


def energised(valve: Valve, way: ValveWay) -> bool:
    """Whether a coil is switched on so that the valve goes that way; a 5/3 valve goes to its centre by springs."""
    if way not in ("out", "home"):
        if valve.ports == "5/3":
            return False
        way = "home"
    last = coils(valve, way)[-1]
    return not (isinstance(last, SetLevel) and last.level == 0.0)


def command_of(valve: Valve, way: ValveWay, at_s: float) -> Command:
    """The valve is sent that way at that time."""
    cap, rod = ways_of(valve, way)
    return Command(at_s, cap, rod, energised(valve, way))
