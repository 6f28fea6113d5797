"""The volumes of a supply while air is drawn from them: their pressures after a little time, all solved at once.

One step is the two-stage Rosenbrock method of second order that damps what is stiff (Verwer et al. 1999, SIAM J. Sci.
Comput. 20, 1456-1480; gamma = 1 - 1 / sqrt 2): a small node behind a wide regulator settles within a millisecond.
The nodes are a tree, so the linear system is eliminated from its leaves. A node has two cells: its own air, and the
air of the props that stand still on it, which flows back through their valves when the node sags.
What the tank gives is found as the balance of all the rest, so no air is lost whatever the step.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.air.flow import BETA, Flow
from sequencer.air.gas import DENSITY_ANR_KG_M3, GAS_CONSTANT_J_KG_K, T_ANR_K
from sequencer.air.supply import Node

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
GAMMA = 1 - 1 / math.sqrt(2)
ROUGH, SHORTEST_S, FAR = 0.05, 1e-3, 0.2
"""A step is made shorter where one of first order would be off by a larger share of a pressure, but not below that. To
go far counts too, by so much of the way: both orders may agree by chance."""
EMPTY_PA = 1.0
CALM_PA, CALM_COOLING_PA = 5.0, 20.0
"""A node at its set pressure from which nothing is drawn stays as it is while what stands on it is no further from it
than the first, and would fall by no more than the second for all that it still has to cool."""


@dataclass(slots=True)
class Cell:
    """Some air at 20 C behind a way. `feed` is the cell before it, None the tank. Where some of it is warmer yet, it
    takes in `cooling_kg` more by and by, a share of 1 / `cooling_s` a second.
    """

    volume_m3: float
    pressure_pa: float
    feed: int | None
    into: Flow
    back: Flow | None
    set_pa: float | None = None
    band_pa: float = 1.0
    cooling_kg: float = 0.0
    cooling_s: float = 1.0


class Cells:
    """The cells of all nodes: number n is node n's own air, number `count` + n the air that stands still on it."""

    def __init__(self, nodes: Sequence[Node], tank_pa: float) -> None:
        self.count = len(nodes)
        self.cells: list[Cell] = []
        for node in nodes:
            before = tank_pa if node.feed is None else self.cells[node.feed].pressure_pa
            start = before if node.set_pa is None else min(before, node.set_pa)
            back = node.way if node.set_pa is None else None
            self.cells.append(Cell(node.volume_m3, start, node.feed, node.way, back, node.set_pa, node.band_pa))
        shut = Flow(0.0, 0.3)
        self.cells += [Cell(0.0, self.cells[at].pressure_pa, at, shut, shut) for at in range(self.count)]
        self._parts: list[float] = []
        feeding = {node.feed for node in nodes}
        self._may_be_calm = [node.set_pa is not None and at not in feeding for at, node in enumerate(nodes)]

    def node_pa(self, node: int) -> float:
        return self.cells[node].pressure_pa

    def rest_pa(self, node: int) -> float:
        """The pressure in what stands still on a node; that of the node where nothing does."""
        cell = self.cells[self.count + node]
        return cell.pressure_pa if cell.volume_m3 > 0 else self.cells[node].pressure_pa

    def held_kg(self) -> float:
        """All air in the cells."""
        return sum(cell.pressure_pa * cell.volume_m3 / RT0 - cell.cooling_kg for cell in self.cells)

    def step(self, time_s: float, tank_pa: float, drawn_kg: Sequence[float], again: bool = False) -> list[float]:
        """The pressures of all cells after some time in which so much is drawn evenly from each node.

        `again`: in the same parts as at the last time, so that a little more drawn is a little less pressure.
        """
        cells, count = self.cells, self.count
        live = self._live(tank_pa, drawn_kg)
        drawn = [0.0] * len(cells)
        for at in live:
            drawn[at] = (drawn_kg[at] if at < count else cooled_kg(cells[at], time_s)) / time_s
        then, left, part = [cell.pressure_pa for cell in cells], time_s, time_s
        if again:
            for part in self._parts:
                then = self._step(then, part, tank_pa, (live, drawn))[0]
            return then
        self._parts = []
        while left > 0.0:
            found, off = self._step(then, part, tank_pa, (live, drawn))
            if off > ROUGH and part > SHORTEST_S:
                part /= 2
                continue
            self._parts.append(part)
            then, left = found, left - part
            part = min(2 * part if off < ROUGH / 4 else part, left)
        return then

    def _step(self, start: list[float], time_s: float, tank_pa: float,
              draws: tuple[list[int], list[float]]) -> tuple[list[float], float]:
        """One step of some `live` cells from which so many kg/s are drawn; how far off one of first order would be, as
        a share of a pressure."""
        cells, count, scale, (live, drawn) = self.cells, self.count, GAMMA * time_s, draws
        matrix = [1.0] * len(cells), [0.0] * len(cells), [0.0] * len(cells)
        own, down, up = matrix
        rates, still = [0.0] * len(cells), [at for at in live if at >= count]
        for at in live:
            cell = cells[at]
            feed, here = cell.feed, RT0 / cell.volume_m3
            flow, by_before, by_own = through(cell, tank_pa if feed is None else start[feed], start[at])
            rates[at] += (flow - drawn[at]) * here
            own[at] -= scale * here * by_own
            if feed is not None:
                there = RT0 / cells[feed].volume_m3
                rates[feed] -= flow * there
                down[at] = -scale * here * by_before
                own[feed] += scale * there * by_before
                up[at] = scale * there * by_own
        first = self._solve(rates, matrix, live)
        middle, then, off = list(start), list(start), 0.0
        for at in live:
            middle[at] = self._held(at, start[at], start[at] + time_s * first[at])
        taken = [time_s * kg_s for kg_s in drawn]
        self._bound(middle, start, still, taken)
        rates = self._rates(middle, tank_pa, live, drawn)
        for at in live:
            rates[at] -= 2 * first[at]
        second = self._solve(rates, matrix, live)
        for at in live:
            then[at] = self._held(at, start[at], start[at] + time_s * (1.5 * first[at] + 0.5 * second[at]))
            off = max(off, max(abs(then[at] - middle[at]), FAR * abs(then[at] - start[at])) / start[at])
        self._bound(then, start, still, taken)
        return then, off

    def _held(self, at: int, start_pa: float, pressure_pa: float) -> float:
        """What a regulator fills does not pass its set pressure, however small the volume; and nothing is below 0."""
        set_pa = self.cells[at].set_pa
        if set_pa is not None and pressure_pa > set_pa:
            return max(start_pa, set_pa)
        return max(pressure_pa, EMPTY_PA)

    def _live(self, tank_pa: float, drawn_kg: Sequence[float]) -> list[int]:
        """The cells that hold air and do not stay as they are."""
        cells, count = self.cells, self.count
        nodes = [at for at in range(count) if drawn_kg[at] or not self._may_be_calm[at] or not self._calm(at, tank_pa)]
        return nodes + [count + at for at in nodes if cells[count + at].volume_m3 > 0]

    def _calm(self, node: int, tank_pa: float) -> bool:
        """Whether a node from which nothing is drawn stays as it is: its regulator is shut and so is all else even."""
        own, still = self.cells[node], self.cells[self.count + node]
        before = tank_pa if own.feed is None else self.cells[own.feed].pressure_pa
        if own.pressure_pa < min(before, (own.set_pa or 0.0) - CALM_PA):
            return False
        return still.volume_m3 <= 0 or (
            abs(still.pressure_pa - own.pressure_pa) < CALM_PA
            and abs(still.cooling_kg) * RT0 < CALM_COOLING_PA * still.volume_m3)

    def accept(self, time_s: float, pressures: Sequence[float], drawn_kg: Sequence[float]) -> float:
        """Make a step's outcome the present; gives what the tank has given, in kg."""
        given = sum(drawn_kg)
        for at, cell in enumerate(self.cells):
            if cell.volume_m3 <= 0:
                cell.pressure_pa = pressures[at - self.count] if at >= self.count else pressures[at]
                continue
            given += (pressures[at] - cell.pressure_pa) * cell.volume_m3 / RT0
            cell.pressure_pa = pressures[at]
            if cell.cooling_kg:
                cooled = cooled_kg(cell, time_s)
                cell.cooling_kg -= cooled
                given += cooled
        return given

    def _bound(self, pressures: list[float], start: Sequence[float], still: Sequence[int],
               drawn_kg: Sequence[float]) -> None:
        """Keeps air that stands still between its own pressure and that of its node, less what cooling takes of it.

        Its ways in and back differ by several times, so a step much longer than it takes to even out would swing past
        the node and be sent back by the wider way, to where it came from.
        """
        for at in still:
            feed = at - self.count
            one, two, three = start[at], start[feed], pressures[feed]
            cooled = drawn_kg[at] * RT0 / self.cells[at].volume_m3
            least, most = (one, two) if one < two else (two, one)
            least, most = (three if three < least else least), (three if three > most else most)
            if cooled > 0.0:
                least -= cooled
            else:
                most -= cooled
            if pressures[at] < least:
                pressures[at] = least
            elif pressures[at] > most:
                pressures[at] = most

    def _rates(self, pressures: Sequence[float], tank_pa: float, live: Sequence[int],
               drawn: Sequence[float]) -> list[float]:
        rates = [0.0] * len(pressures)
        cells = self.cells
        for at in live:
            cell = cells[at]
            feed = cell.feed
            flow = through(cell, tank_pa if feed is None else pressures[feed], pressures[at])[0]
            rates[at] += (flow - drawn[at]) * RT0 / cell.volume_m3
            if feed is not None:
                rates[feed] -= flow * RT0 / cells[feed].volume_m3
        return rates

    def _solve(self, right: Sequence[float], matrix: tuple[list[float], list[float], list[float]],
               live: Sequence[int]) -> list[float]:
        """From the leaves to the tank and back: a cell stands behind its feed."""
        own, down, up = list(matrix[0]), matrix[1], matrix[2]
        found, cells = list(right), self.cells
        for at in reversed(live):
            feed = cells[at].feed
            if feed is not None and up[at]:
                share = up[at] / own[at]
                own[feed] -= share * down[at]
                found[feed] -= share * found[at]
        for at in live:
            feed = cells[at].feed
            if feed is not None:
                found[at] -= down[at] * found[feed]
            found[at] /= own[at]
        return found


def cooled_kg(cell: Cell, time_s: float) -> float:
    """What air that stands still draws in within some time because it cools."""
    return cell.cooling_kg * -math.expm1(-time_s / cell.cooling_s) if cell.cooling_kg else 0.0


def through(cell: Cell, before_pa: float, own_pa: float) -> tuple[float, float, float]:
    """kg/s into a cell, and how that changes with the pressure before it and with its own, kg/(s Pa)."""
    if cell.set_pa is not None:
        opening = (cell.set_pa - own_pa) / cell.band_pa
        if opening < -0.01 or before_pa <= own_pa:
            return 0.0, 0.0, 0.0
        if opening <= 0.0:
            # Shut, but the least fall opens it: a step has to know, or it would let the node fall far.
            return 0.0, 0.0, -law(cell.into, before_pa, own_pa)[0] / cell.band_pa
        flow, by_before, by_own = law(cell.into, before_pa, own_pa)
        if opening >= 1.0:
            return flow, by_before, by_own
        return opening * flow, opening * by_before, opening * by_own - flow / cell.band_pa
    if before_pa >= own_pa:
        return law(cell.into, before_pa, own_pa)
    assert cell.back is not None
    flow, by_own, by_before = law(cell.back, own_pa, before_pa)
    return -flow, -by_before, -by_own


def law(way: Flow, up_pa: float, down_pa: float) -> tuple[float, float, float]:
    """kg/s from up to down at 20 C (`flow.share`), and its slopes by either pressure."""
    scale, b, ratio = DENSITY_ANR_KG_M3 * way.c_m3_s_pa, way.b, down_pa / up_pa
    if ratio <= b:
        return scale * up_pa, scale, 0.0
    if ratio < BETA:
        along = (ratio - b) / (1 - b)
        share = math.sqrt(1 - along * along)
        slope = -along / ((1 - b) * share)
        return scale * up_pa * share, scale * (share - ratio * slope), scale * slope
    along = (BETA - b) / (1 - b)
    straight = scale * math.sqrt(1 - along * along) / (1 - BETA)
    return straight * (up_pa - down_pa), straight, -straight
