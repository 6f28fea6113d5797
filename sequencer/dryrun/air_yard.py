"""The parts of a rig that air goes through -> what hangs on each compressor: tank, nodes, cylinders, blowing valves.

A manifold is a node; so is a prop behind a regulator of its own, or one that is fed by no manifold. A cylinder is the
one that `stroke` reckons with, fitted to its times, on a supply that gives way instead of one that does not. Parts
that hang on no compressor are left out; so is a ring of sources, which is found and said elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sequencer.air.calibrate import calibrate
from sequencer.air.cylinder import Spool
from sequencer.air.fittings import regulator_on
from sequencer.air.flow import Flow
from sequencer.air.from_rig import ValveWay, cylinder_air, ways_of
from sequencer.air.gas import P_ATMOSPHERE_PA
from sequencer.air.parts import REGULATOR
from sequencer.air.request import described_by
from sequencer.air.series import in_series
from sequencer.air.shared_run import Yard
from sequencer.air.supply import BAND_PA, Compressor, Node, NozzleAir, PropAir, SupplyAir, Tank
from sequencer.air.tube import tube_flow
from sequencer.rig.compressor import Compressor as CompressorPart
from sequencer.rig.cylinder import Cylinder, starts_at
from sequencer.rig.line import Line
from sequencer.rig.manifold import Manifold
from sequencer.rig.prop import Prop
from sequencer.rig.tubes import inner_m
from sequencer.rig.valve import Valve
from sequencer.schedule.supply import MOST_SOURCES, cylinders_on, request_for, valve_of
from sequencer.show.model import Placed

COUPLING = Flow(6e-8, 0.3)
"""A quick coupling and a short hose, where nothing else stands between two volumes (from memory)."""
BEHIND_REGULATOR_M3 = 1e-4
"""Bowl of a regulator and the hose to the valve, of a prop with a regulator of its own (assumed). Twice or half as
much changes how deep the pressure dips in the first 20 ms, hardly an arrival."""

FIRM_PA = 0.05e5
"""A prop's own regulator is taken to hold its pressure this well: what it droops by while the prop moves alone is in
the times that were taken on it, and the plan reckons without it. One that several props share droops as usual."""


@dataclass(frozen=True, slots=True)
class AirYard:
    """What hangs on one compressor. `cylinders` and `valves` (that blow) are the names of the yard's props and nozzles;
    `driven_by` is the valve of each cylinder and `ways` how that stands at first. `manifolds` are the nodes that have
    a name in the show.
    """

    compressor: CompressorPart
    yard: Yard
    cylinders: tuple[str, ...]
    driven_by: tuple[Valve, ...]
    ways: tuple[ValveWay, ...]
    valves: tuple[str, ...]
    manifolds: tuple[tuple[str, int], ...]


def air_yards(parts: Mapping[str, Placed], ways: Mapping[str, ValveWay]) -> tuple[AirYard, ...]:
    """All compressors with what hangs on them. `ways`: how each valve stands before the first command.

    Raises ValueError where a cylinder cannot be reckoned, as `stroke.predict_stroke` does.
    """
    found = (_yard(parts, ways, placed.part) for placed in parts.values() if isinstance(placed.part, CompressorPart))
    return tuple(yard for yard in found if yard is not None)


def _yard(parts: Mapping[str, Placed], ways: Mapping[str, ValveWay], compressor: CompressorPart) -> AirYard | None:
    nodes = _Nodes(parts, compressor.name)
    props, nozzles = [], []
    for placed in parts.values():
        valve = placed.part
        prop = parts[valve.prop].part if isinstance(valve, Valve) and valve.prop in parts else None
        if not isinstance(valve, Valve) or not isinstance(prop, Prop):
            continue
        node = nodes.of_prop(prop)
        if node is None:
            continue
        driven = cylinders_on(parts, valve.name)
        props += [_prop(parts, name, node, ways[valve.name], shared=len(driven) > 1) for name in driven]
        if not driven:
            nozzles.append(NozzleAir(valve.name, _blows(valve, prop), _spool(valve), node))
    if not props and not nozzles:
        return None
    supply = SupplyAir(_tank(compressor), tuple(nodes.made))
    driven_by = tuple(valve for prop in props if isinstance(valve := valve_of(parts, prop.name), Valve))
    return AirYard(
        compressor, Yard(tuple(props), supply, tuple(nozzles)), tuple(prop.name for prop in props), driven_by,
        tuple(ways[valve.name] for valve in driven_by), tuple(nozzle.name for nozzle in nozzles), tuple(nodes.named),
    )  # fmt: skip


class _Nodes:
    """The nodes behind one compressor, made as they are asked for."""

    def __init__(self, parts: Mapping[str, Placed], compressor: str) -> None:
        self._parts, self._compressor = parts, compressor
        self._of: dict[str, int | None] = {}
        self.made: list[Node] = []
        self.named: list[tuple[str, int]] = []

    def of_prop(self, prop: Prop) -> int | None:
        """The node that a prop's valves are on; None where it hangs on another compressor, or on none."""
        if prop.source is None:
            return None
        source = self._parts.get(prop.source)
        if source is not None and isinstance(source.part, Manifold) and prop.regulator is None:
            return self._of_manifold(source.part, MOST_SOURCES)
        return self._node(prop, BEHIND_REGULATOR_M3, MOST_SOURCES)

    def _of_manifold(self, part: Manifold, left: int) -> int | None:
        return self._node(part, part.volume.si, left)

    def _node(self, part: Prop | Manifold, volume_m3: float, left: int) -> int | None:
        if part.name in self._of:
            return self._of[part.name]
        lines, reached = list(self._lines(part.source)), self._reached(part.source)
        feed = None
        if isinstance(reached, Manifold):
            feed = self._of_manifold(reached, left - 1) if left else None
        hangs_here = feed is not None or (isinstance(reached, CompressorPart) and reached.name == self._compressor)
        self._of[part.name] = None
        if hangs_here:
            regulator = regulator_on(part) if isinstance(part, Manifold) else REGULATOR
            ways = [*lines, *([regulator] if part.regulator is not None else [])] or [COUPLING]
            set_pa = None if part.regulator is None else part.regulator.si + P_ATMOSPHERE_PA
            self._of[part.name] = len(self.made)
            band_pa = BAND_PA if isinstance(part, Manifold) else FIRM_PA
            self.made.append(Node(part.name, volume_m3, in_series(ways), feed, set_pa, band_pa))
            if isinstance(part, Manifold):
                self.named.append((part.name, self._of[part.name] or 0))
        return self._of[part.name]

    def _lines(self, source: str | None) -> Iterator[Flow]:
        """The tubes between a source and what stands before it."""
        for part in self._chain(source):
            if isinstance(part, Line):
                yield tube_flow(part.inner_m, part.length.si)

    def _reached(self, source: str | None) -> object:
        """The first manifold or compressor on the way."""
        return next((part for part in self._chain(source) if not isinstance(part, Line)), None)

    def _chain(self, source: str | None) -> Iterator[object]:
        """A source, and behind lines what they come from, up to the first thing that is no line."""
        for _ in range(MOST_SOURCES):
            placed = self._parts.get(source or "")
            if placed is None:
                return
            yield placed.part
            if not isinstance(placed.part, Line):
                return
            source = placed.part.source


def _prop(parts: Mapping[str, Placed], name: str, node: int, way: ValveWay, shared: bool) -> PropAir:
    cylinder = parts[name].part
    assert isinstance(cylinder, Cylinder)
    valve = parts[cylinder.valve].part
    assert isinstance(valve, Valve)
    starts = starts_at(cylinder, valve)
    request = request_for(parts, name, 1.0 if starts == "out" else 0.0, starts)
    assert request is not None
    described = described_by(request)
    air = cylinder_air(described, calibrate(described).unknowns, "out")
    low, high = air.ends_m
    start_m = high if starts == "out" else low
    return PropAir(name, replace(air, start_m=start_m), ways_of(valve, way), node,
                   valve.name if shared else None)


def _blows(valve: Valve, prop: Prop) -> Flow:
    tube = inner_m(prop.tube, prop.inside) if prop.tube is not None else None
    ways = [Flow(valve.conductance.si, valve.critical_ratio.si)]
    if tube is not None and prop.length is not None:
        ways.append(tube_flow(tube, prop.length.si))
    return in_series(ways)


def _spool(valve: Valve) -> Spool:
    return Spool(valve.responds.si, valve.releases.si, valve.shift.si)


def _tank(part: CompressorPart) -> Tank:
    """Full when the run begins, unless its author says otherwise."""
    compressor = Compressor(part.flow.si, part.cut_in.si + P_ATMOSPHERE_PA, part.cut_out.si + P_ATMOSPHERE_PA,
                            part.duty.si, part.duty_window.si)
    starts_pa = compressor.cut_out_pa if part.starts is None else part.starts.si + P_ATMOSPHERE_PA
    return Tank(part.tank.si, starts_pa, compressor, 0.0 if part.leak is None else part.leak.si)
