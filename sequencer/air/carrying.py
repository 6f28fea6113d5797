"""What a rod carries and how the rod went -> how far and how fast the end of the prop went in each motion.

Where the rod drives a lever, a scissor, bars, a rope or a slide, what people see is their end, not the rod; where it
drives none of these, the end is the rod's own. The geometry is the mechanism's (`air.mechanism`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from sequencer.air.solver import cubic, cubic_slope

if TYPE_CHECKING:
    from sequencer.air.mechanism.linkage import End
    from sequencer.air.mechanism.mechanism import Mechanism
    from sequencer.rig.base import Part
    from sequencer.rig.cylinder import Cylinder

BETWEEN = 8
"""Into so many parts the way from one step of the solver to the next is cut, about the fastest of them."""
AT_END = 1e-6
SAID_IN = {"lever": "arm", "fourbar": "rocker", "scissor": "link", "rope": "length"}
"""The property in whose unit a part's travel is told; where there is none, that of the stroke."""
TURNING = ("lever", "fourbar")

Knot = tuple[float, float, float]
"""us, the rod's place as a share of its way from home (0) to out (1), and its speed in such shares a second."""


@dataclass(frozen=True, slots=True)
class EndRun:
    """How the end of one part went in one motion. `part` is the cylinder where the end is that of its rod.

    `travel_m` along its path, above 0, in which `unit` is the author's symbol. `turned_rad` for what turns about a
    pivot, else None. `fastest_m_s` and `arrives_m_s` are speeds without a sign; the last is None where the motion ended
    before its end.
    """

    part: str
    unit: str
    travel_m: float
    turned_rad: float | None
    fastest_m_s: float
    arrives_m_s: float | None


@dataclass(frozen=True, slots=True)
class Carrying:
    """What one rod carries over its way of `way_m`. `units`: by part, the symbol of the author's unit of length;
    `turning`: the parts that turn."""

    cylinder: str
    way_m: float
    mechanism: Mechanism | None
    units: Mapping[str, str]
    turning: frozenset[str]

    def ends_at(self, share: float) -> dict[str, End]:
        """By name of the part, where the end of each is with the rod there."""
        x = share * self.way_m
        found = {} if self.mechanism is None else self.mechanism.ends_at(x)
        return found or {self.cylinder: _rods_own(x)}


def carrying_of(cylinder: Cylinder, drives: Iterable[Part], mechanism: Mechanism | None) -> Carrying:
    """`mechanism` is what the parts in `drives` make on the cylinder."""
    parts = tuple(drives)
    units = {cylinder.name: cylinder.stroke.unit.symbol}
    units |= {part.name: getattr(part, SAID_IN[part.kind]).unit.symbol if part.kind in SAID_IN
              else cylinder.stroke.unit.symbol for part in parts}
    way = cylinder.stroke.si if mechanism is None else mechanism.out_m
    return Carrying(cylinder.name, way, mechanism, units, frozenset(part.name for part in parts
                                                                    if part.kind in TURNING))


def end_runs(carrying: Carrying, start: float, reached: float, knots: Sequence[Knot]) -> tuple[EndRun, ...]:
    """How each end went from one share of the rod's way to another, the rod going as the knots say."""
    before, after = carrying.ends_at(start), carrying.ends_at(reached)
    sign = 1.0 if reached > start else -1.0

    def turned(part: str, end: End) -> float | None:
        """By its travel over its arm, since a rocker can turn by more than half a turn."""
        if part not in carrying.turning:
            return None
        return abs(end.travel_m - before[part].travel_m) / math.hypot(end.right_m, end.up_m)

    there = abs(reached - (1.0 if sign > 0 else 0.0)) <= AT_END
    last = next((v for _, _, v in reversed(knots) if v * sign > 0), 0.0) if there else None
    fastest = _fastest(carrying, knots)
    return tuple(
        EndRun(
            part, carrying.units[part], abs(end.travel_m - before[part].travel_m),
            turned(part, end), fastest.get(part, 0.0),
            None if last is None else abs(end.speed_m_s(last * carrying.way_m)),
        )
        for part, end in after.items()
    )  # fmt: skip


def _fastest(carrying: Carrying, knots: Sequence[Knot]) -> dict[str, float]:
    """The greatest speed of each end in m/s: at the knots, then between those on either side of the best."""
    going = [number for number, (_, _, speed) in enumerate(knots) if speed != 0]
    if carrying.mechanism is None:
        best = max(going, key=lambda number: abs(knots[number][2]), default=None)
        speeds = [] if best is None else [abs(speed) for _, speed in _about(knots, best)]
        return {carrying.cylinder: max(speeds, default=0.0) * carrying.way_m}
    most: dict[str, tuple[float, int]] = {}
    for number in going:
        _, share, speed = knots[number]
        for part, end in carrying.ends_at(share).items():
            there = abs(end.speed_m_s(speed * carrying.way_m))
            if there > most.get(part, (-1.0, 0))[0]:
                most[part] = there, number
    return {part: max(abs(carrying.ends_at(share)[part].speed_m_s(speed * carrying.way_m))
                      for share, speed in _about(knots, number)) for part, (_, number) in most.items()}


def _about(knots: Sequence[Knot], number: int) -> Iterator[tuple[float, float]]:
    """Place and speed at a knot, and between it and its neighbours on the cubic that has both."""
    yield knots[number][1:]
    for (us, share, speed), (then, after, speed_after) in pairwise(knots[max(number - 1, 0) : number + 2]):
        step = (then - us) / 1e6
        if step <= 0:
            continue
        through = (share, speed * step, after, speed_after * step)
        for part in range(1, BETWEEN):
            yield cubic(through, part / BETWEEN), cubic_slope(through, part / BETWEEN) / step


def _rods_own(x_m: float) -> End:
    from sequencer.air.mechanism.straight import StraightLoad

    return StraightLoad(0.0).end_at(x_m)


def degrees_of(run: EndRun) -> float | None:
    """By how much the part turned, in degrees."""
    return None if run.turned_rad is None else math.degrees(run.turned_rad)
