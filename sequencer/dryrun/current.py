"""What hangs on a supply of current and which outputs are on -> the amperes that it gives over the run.

Watts are those that the rig says (`draws`), at the voltage of the supply; a lamp at a level draws that share of them in
the mean, since its output is switched on and off too quickly to be seen. What a motor, a pump or a coil takes for a
moment as it is switched on is not in it, nor is a part whose watts nobody said.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sequencer.dryrun.levels import level_corners
from sequencer.dryrun.timeline import OutputInfo, Series
from sequencer.rig.base import Part
from sequencer.rig.board import Board
from sequencer.rig.supply import Supply
from sequencer.show.model import Show
from sequencer.steps.events import OutputEdge
from sequencer.steps.program import ON


@dataclass(frozen=True, slots=True)
class Fed:
    """A supply by its name, what it may give at most, and the amperes of each output that is full on, by its index."""

    supply: str
    most_a: float
    draws_a: Mapping[int, float]


def fed_by_supplies(show: Show, outputs: Iterable[OutputInfo]) -> tuple[Fed, ...]:
    """The supplies that boards name, with what is on the outputs of those boards."""
    rows = tuple(outputs)
    found = []
    for placed in show.of_kind("board"):
        board = placed.part
        assert isinstance(board, Board)
        part = show.parts[board.supply].part if board.supply in show.parts else None
        if isinstance(part, Supply):
            draws = {one.index: _watts(show.parts[one.device].part) / part.voltage.si
                     for one in rows if one.device in show.parts}
            found.append(Fed(part.name, part.current.si, {index: amps for index, amps in draws.items() if amps}))
    return tuple(found)


def _watts(part: Part) -> float:
    draws = getattr(part, "draws", None)
    return 0.0 if draws is None else draws.si


def current_of(fed: Fed, outputs: Sequence[OutputInfo], edges: Iterable[OutputEdge], ticks: int) -> Series:
    """The current of one supply, beside the most that it may give."""
    by_output: dict[int, list[OutputEdge]] = defaultdict(list)
    for edge in edges:
        by_output[edge.output].append(edge)
    lines = [
        [(tick, level * amps / ON) for tick, level in level_corners(by_output[index], outputs[index].safe)]
        for index, amps in fed.draws_a.items()
    ]
    points = [(round(tick * 1000), amps) for tick, amps in summed(lines, ticks)]
    return Series(fed.supply, "current", "A", tuple(points), (("most", fed.most_a),))


def summed(lines: Iterable[Sequence[tuple[float, float]]], until: float) -> Iterator[tuple[float, float]]:
    """The sum of lines through corners, each flat behind its last; two corners of one time are a jump.

    >>> list(summed([[(0, 1.0), (4, 3.0)], [(0, 0.0), (2, 0.0), (2, 1.0)]], 5))
    [(0, 1.0), (2, 2.0), (2, 3.0), (4, 4.0), (5, 4.0)]
    """
    jumps: dict[float, float] = defaultdict(float, {0: 0.0, until: 0.0})
    turns: dict[float, float] = defaultdict(float)
    for line in lines:
        jumps[0] += line[0][1]
        for (begin, value), (end, then) in pairwise(line):
            if begin == end:
                jumps[end] += then - value
            else:
                turns[begin] += (then - value) / (end - begin)
                turns[end] -= (then - value) / (end - begin)
    value, slope, last = 0.0, 0.0, 0.0
    for time in sorted({*jumps, *turns}):
        if time > until:
            yield until, value + slope * (until - last)
            return
        value += slope * (time - last)
        if time > 0 or time == until:
            yield time, value
        if abs(jumps[time]) > 1e-9 or time == 0:
            value += jumps[time]
            yield time, value
        slope, last = slope + turns[time], time
