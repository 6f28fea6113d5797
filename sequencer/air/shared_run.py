"""Commands that are known beforehand, to several cylinders on one supply -> what comes of them, as plain values.

    trace = shared_run([(0, Command(0.5, "S", "E", True))], Yard(props, supply), 3.0)
    trace.props[0].hits, trace.nodes[0].least, trace.switches

How far to trust it: held against SciPy on the equations of all cylinders and their supply at once (`tests/air`),
arrivals are within 1 %, the lowest pressure of a manifold within 0.2 %, at any moment within 2 % (in the 20 ms in which
several valves open at once; on average 0.2 %), the tank within 0.1 %. Not in it: waves
in tubes, the cooling of a tank that gives its air quickly, and that air that stands still in several cylinders on a
node is not at one pressure while the node moves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from sequencer.air.compressor import Switch
from sequencer.air.cylinder import CylinderAir
from sequencer.air.gas import std_l_of_kg
from sequencer.air.integrate import Event
from sequencer.air.motion import Hit
from sequencer.air.mover import Mover
from sequencer.air.shared import Moment, SharedAir
from sequencer.air.spool import Command
from sequencer.air.supply import NozzleAir, PropAir, SupplyAir

RECOVERED = 0.1
"""A sag counts as begun where the pressure was last within this share of it below where it fell from (assumed)."""


@dataclass(frozen=True, slots=True)
class Yard:
    """What hangs on a supply. Commands count nozzles on after the props."""

    props: tuple[PropAir, ...]
    supply: SupplyAir
    nozzles: tuple[NozzleAir, ...] = ()


@dataclass(frozen=True, slots=True)
class PropTrace:
    """One cylinder: what happened, where its rod was and how fast (s, m, m/s), and its free air in litres ANR."""

    name: str
    cylinder: CylinderAir
    events: tuple[Event, ...]
    track: tuple[tuple[float, float, float], ...]
    air_std_l: float
    exhausted_std_l: float

    @property
    def hits(self) -> tuple[Hit, ...]:
        """The ends that the rod met."""
        mass_at = self.cylinder.mass_at
        return tuple(Hit(event.at_s, "out" if event.toward > 0 else "home", event.v_m_s,
                         mass_at(event.x_m) * event.v_m_s**2 / 2) for event in self.events if event.kind == "hit")

    def arrival_s(self, toward: int, after_s: float) -> float | None:
        """When the rod first meets an end (+1 out, -1 home) after a moment."""
        return next((event.at_s for event in self.events
                     if event.kind == "hit" and event.toward == toward and event.at_s > after_s), None)


@dataclass(frozen=True, slots=True)
class Least:
    """The lowest pressure of a node, when, since when it fell, and who drew how much meanwhile, the most first."""

    pressure_pa: float
    at_s: float
    since_s: float
    from_pa: float
    drawn_std_l: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class NodeTrace:
    """One node: corners of a line of (s, Pa absolute), and its lowest moment."""

    name: str
    points: tuple[tuple[float, float], ...]
    least: Least


@dataclass(frozen=True, slots=True)
class SharedTrace:
    """What happened from 0 s to `until_s`. `unsettled`: moments at which the pressures could not be agreed on."""

    until_s: float
    props: tuple[PropTrace, ...]
    nozzles_std_l: tuple[float, ...]
    nodes: tuple[NodeTrace, ...]
    tank: tuple[tuple[float, float], ...]
    switches: tuple[Switch, ...]
    unsettled: tuple[float, ...]

    @property
    def air_std_l(self) -> float:
        """Free air drawn by all, in litres at 20 C and 100 kPa."""
        return sum(prop.air_std_l for prop in self.props) + sum(self.nozzles_std_l)


def shared_run(commands: Sequence[tuple[int, Command]], yard: Yard, until_s: float) -> SharedTrace:
    """Let everything rest, then tell the valves (number of prop or nozzle, command) until a moment.

    Raises ValueError for parts that cannot be, `integrate.NotSettling` where a cylinder cannot be reckoned.
    """
    air = SharedAir(yard.props, yard.supply, yard.nozzles)
    for number, command in sorted(commands, key=lambda one: one[1].at_s):
        if command.at_s < until_s:
            air.tell(number, command)
    air.advance(until_s)
    return trace_of(air)


def trace_of(air: SharedAir) -> SharedTrace:
    """What has happened so far."""
    names = [mover.prop.name for mover in air.movers] + [nozzle.nozzle.name for nozzle in air.nozzles]
    return SharedTrace(
        air.now_s, tuple(prop_trace(air, mover) for mover in air.movers),
        tuple(std_l_of_kg(nozzle.supplied_kg) for nozzle in air.nozzles),
        tuple(NodeTrace(node.name, _straightened([(moment.at_s, moment.nodes_pa[at]) for moment in air.moments]),
                        least_of(air.moments, at, _on_node(air, at), names))
              for at, node in enumerate(air.supply.nodes)),
        _straightened([(moment.at_s, moment.tank_pa) for moment in air.moments]),
        tuple(air.tank.switches), tuple(air.unsettled),
    )  # fmt: skip


def prop_trace(air: SharedAir, mover: Mover) -> PropTrace:
    """One cylinder up to now."""
    supplied, exhausted = mover.booked_kg(air.now_s, air.standing[mover.prop.node])
    return PropTrace(mover.prop.name, mover.cylinder, tuple(mover.events), tuple(mover.track),
                     std_l_of_kg(supplied), std_l_of_kg(exhausted))


def least_of(moments: Sequence[Moment], node: int, on_node: frozenset[int], names: Sequence[str]) -> Least:
    """The lowest moment of a node and who brought it about."""
    pressures = [moment.nodes_pa[node] for moment in moments]
    at = min(range(len(moments)), key=pressures.__getitem__)
    top = max(pressures[: at + 1])
    began = at
    while began > 0 and pressures[began] < top - RECOVERED * (top - pressures[at]):
        began -= 1
    drawn: dict[int, float] = {}
    for moment in moments[began + 1 : at + 1]:
        for number, kg in moment.drawn_kg:
            if number in on_node:
                drawn[number] = drawn.get(number, 0.0) + kg
    who = sorted(((names[number], std_l_of_kg(kg)) for number, kg in drawn.items() if kg > 0), key=lambda one: -one[1])
    return Least(pressures[at], moments[at].at_s, moments[began].at_s, top, tuple(who))


def _on_node(air: SharedAir, node: int) -> frozenset[int]:
    """Numbers of those who draw from a node, through others behind it too."""
    behind = {node}
    for at, other in enumerate(air.supply.nodes):
        if other.feed in behind:
            behind.add(at)
    parts = [*(mover.prop.node for mover in air.movers), *(nozzle.nozzle.node for nozzle in air.nozzles)]
    return frozenset(number for number, at in enumerate(parts) if at in behind)


def _straightened(points: Sequence[tuple[float, float]], share: float = 5e-4) -> tuple[tuple[float, float], ...]:
    """Without the points that a straight line between those kept passes within a share of their value."""
    kept = [points[0]]
    low, high = float("-inf"), float("inf")
    for before, point in pairwise(points[1:]):
        (t0, p0), (t, p) = kept[-1], before
        if t > t0:
            low, high = max(low, (p - share * p - p0) / (t - t0)), min(high, (p + share * p - p0) / (t - t0))
        slope = (point[1] - p0) / (point[0] - t0)
        if not low <= slope <= high:
            kept.append(before)
            low, high = float("-inf"), float("inf")
    return (*kept, points[-1]) if len(points) > 1 else tuple(kept)
