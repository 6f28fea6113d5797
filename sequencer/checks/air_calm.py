"""Scares and what they draw on air of their own -> whether the supply gives way to that at all.

The first round of what `air.shared` goes round in: every motion draws as it does on air that does not give way, and
only the tank and the manifolds are carried on with the sum of it. Where none of them falls far enough to matter, no
rod comes in later than by itself, and nothing more need be reckoned.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

from sequencer.air.compressor import TankRun
from sequencer.air.gas import DENSITY_ANR_KG_M3
from sequencer.air.manifold import Cells, law
from sequencer.air.shared import WINDOW_S
from sequencer.air.stroke import Stroke
from sequencer.air.supply import Node, SupplyAir
from sequencer.dryrun.air_yard import FIRM_PA, AirYard
from sequencer.memo import Memo, noted
from sequencer.rig.drive import ValveTo
from sequencer.schedule.plan import Moment

EVEN = 2e-3
"""A fall by this share of its pressure moves an arrival by some 0.1 % (computed: 5 % of the pressure, 0.4 to 2 %)."""
SPARE = 1.05
"""A regulator holds its pressure while it is fed at this multiple of it, and could pass this much more."""
SETTLES_S = 1.0

Starts = Sequence[tuple[Moment, int]]
"""Moments of scares, and when each scare starts, in us."""


def calm(memo: Memo, air: AirYard, moments: Starts) -> bool:
    """Whether the supply gives way so little that every rod does as it would on air of its own."""
    drawn = tuple(map(tuple, _windows(memo, air, moments)))
    return memo.of(("calm", air.yard.supply, drawn), partial(_calm, air, drawn))


def _calm(air: AirYard, drawn: Sequence[Sequence[float]]) -> bool:
    supply, carrier = _manifolds(air.yard.supply)
    start, least = _least(supply, carrier, drawn)
    most = [max(column, default=0.0) / WINDOW_S for column in zip(*drawn, strict=True)]
    for at, node in enumerate(air.yard.supply.nodes):
        if at < len(most) and most[at] > 0 and not _holds(node, start, least, carrier[at], most[at]):
            return False
    return True


def _holds(node: Node, start: Sequence[float], least: Sequence[float], carrier: int, most_kg_s: float) -> bool:
    if _firm(node):
        assert node.set_pa is not None
        before = least[carrier]
        return before > SPARE * node.set_pa and law(node.way, before, node.set_pa)[0] > SPARE * most_kg_s
    return least[carrier] > (1 - EVEN) * start[carrier]


def _firm(node: Node) -> bool:
    return node.set_pa is not None and node.band_pa <= FIRM_PA


def _manifolds(supply: SupplyAir) -> tuple[SupplyAir, list[int]]:
    """The nodes that are not just a prop's own regulator, and which of them each node draws through; -1: the tank."""
    feeds = {node.feed for node in supply.nodes}
    kept, number, carrier = list[Node](), dict[int, int](), list[int]()
    for at, node in enumerate(supply.nodes):
        before = -1 if node.feed is None else carrier[node.feed]
        if _firm(node) and at not in feeds:
            carrier.append(before)
            continue
        number[at] = len(kept)
        carrier.append(len(kept))
        kept.append(replace(node, feed=None if before < 0 else before))
    return SupplyAir(supply.tank, tuple(kept)), carrier


def _least(supply: SupplyAir, carrier: Sequence[int],
           drawn: Sequence[Sequence[float]]) -> tuple[list[float], list[float]]:
    """The pressure of every manifold at first, and its lowest; those of the tank come last."""
    tank = TankRun(supply.tank)
    cells = Cells(supply.nodes, tank.pressure_pa)
    start = [*(cells.node_pa(at) for at in range(cells.count)), tank.pressure_pa]
    least = list(start)
    for length, window in _joined(drawn):
        through = [0.0] * (cells.count + 1)
        for at, kg in enumerate(window):
            through[carrier[at]] += kg
        direct = through.pop()
        after = cells.step(length, tank.pressure_pa, through)
        tank.advance(length, cells.accept(length, after, through) + direct)
        for at in range(cells.count):
            least[at] = min(least[at], cells.node_pa(at))
        least[-1] = min(least[-1], tank.pressure_pa)
    return start, least


def _joined(drawn: Sequence[Sequence[float]]) -> Iterator[tuple[float, Sequence[float]]]:
    """Windows with their length in s; those in which nothing is drawn as one."""
    for idle, windows in groupby(drawn, key=lambda window: not any(window)):
        if idle:
            empty = list(windows)
            yield WINDOW_S * len(empty), empty[0]
        else:
            yield from ((WINDOW_S, window) for window in windows)


def _windows(memo: Memo, air: AirYard, moments: Starts) -> list[list[float]]:
    """What is drawn from each node in each window, in kg, from the first moment until the last has settled."""
    nodes = len(air.yard.supply.nodes)
    found: list[list[float]] = []
    for node, at_s, kg in _draws(memo, air, moments):
        window = int(at_s / WINDOW_S)
        while len(found) <= window:
            found.append([0.0] * nodes)
        found[window][node] += kg
    return found


def _draws(memo: Memo, air: AirYard, moments: Starts) -> Iterator[tuple[int, float, float]]:
    number = {name: prop.node for name, prop in zip(air.cylinders, air.yard.props, strict=True)}
    opened: dict[str, float] = {}
    for moment, from_us in moments:
        at_s = (from_us + moment.earliest_us) / 1e6
        for travel in moment.travels:
            if travel.cylinder in number and travel.stroke is not None and travel.toward != "stops":
                stroke = travel.stroke
                for since, kg in noted(memo.about(stroke), "draws", partial(_profile, stroke)):
                    yield number[travel.cylinder], at_s + since, kg
        if isinstance(moment.drive, ValveTo) and moment.drive.valve in air.valves:
            if (moment.drive.way == "open") != moment.goes_back:
                opened.setdefault(moment.drive.valve, at_s)
            elif moment.drive.valve in opened:
                yield from _blown(air, moment.drive.valve, opened.pop(moment.drive.valve), at_s)
    for valve, at_s in opened.items():
        yield from _blown(air, valve, at_s, at_s + SETTLES_S)


def _profile(stroke: Stroke) -> tuple[tuple[float, float], ...]:
    """What a motion draws: (s since its command, kg) by windows, with what only cools in later left out."""
    points = [(t - stroke.told_s, kg) for t, kg in stroke.trace.supplied()]
    before = max((kg for t, kg in points if t <= 0), default=0.0)
    windows: dict[int, float] = {}
    for t, kg in points:
        if t > 0 and kg > before:
            windows[math.floor(t / WINDOW_S)] = windows.get(math.floor(t / WINDOW_S), 0.0) + kg - before
            before = kg
    return tuple((number * WINDOW_S, kg) for number, kg in windows.items())


def _blown(air: AirYard, valve: str, opens_s: float, shuts_s: float) -> Iterator[tuple[int, float, float]]:
    """A valve that blows draws as much as when choked at the pressure that its node has at first."""
    nozzle = air.yard.nozzles[air.valves.index(valve)]
    supply = air.yard.supply
    set_pa = supply.nodes[nozzle.node].set_pa
    pressure = supply.tank.start_pa if set_pa is None else set_pa
    kg = nozzle.way.c_m3_s_pa * DENSITY_ANR_KG_M3 * pressure * WINDOW_S
    for number in range(math.ceil((shuts_s - opens_s) / WINDOW_S) + 1):
        yield nozzle.node, opens_s + number * WINDOW_S, kg
