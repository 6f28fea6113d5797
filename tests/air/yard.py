"""Cylinders of the reference cases on one supply, as the package and as `joint` take them; commands that go with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from sequencer.air.flow import Flow
from sequencer.air.shared_run import Yard
from sequencer.air.spool import Command
from sequencer.air.supply import Node, PropAir, SupplyAir, Tank
from tests.air.case_form import read_cases
from tests.air.joint import Supply

CASES = {case.name: case for case in read_cases()}
SET_PA, BAND_PA = 652_905.0, 0.5e5


@dataclass(frozen=True)
class Told:
    """A cylinder of a case that goes out at `out_s` and home `for_s` later. `kg`: what it moves."""

    case: str
    out_s: float
    for_s: float
    kg: float | None = None


@dataclass(frozen=True)
class Feed:
    """A tank, a regulator with its line, a manifold."""

    c: float = 4e-8
    tank_m3: float = 0.08
    tank_pa: float = 9e5
    manifold_m3: float = 1e-3


def yard_of(told: Sequence[Told], feed: Feed, valve: str | None = None) -> tuple[Yard, list[tuple[int, Command]]]:
    props, commands = [], []
    for at, one in enumerate(told):
        cylinder = replace(CASES[one.case].cylinder, start_m=0.0, manifold=None)
        if one.kg is not None:
            cylinder = replace(cylinder, load=replace(cylinder.load, mass_kg=one.kg))
        props.append(PropAir(f"{one.case} {at}", cylinder, ("E", "S"), 0, valve))
        commands.append((at, Command(one.out_s, "S", "E", True)))
        commands.append((at, Command(one.out_s + one.for_s, "E", "S", False)))
    node = Node("bench", feed.manifold_m3, Flow(feed.c, 0.35), None, SET_PA, BAND_PA)
    return Yard(tuple(props), SupplyAir(Tank(feed.tank_m3, feed.tank_pa), (node,))), commands


def joint_of(told: Sequence[Told], feed: Feed) -> tuple[list[tuple[dict[str, Any], list[list[Any]]]], Supply]:
    cases = []
    for one in told:
        params = dict(CASES[one.case].raw["params"]) | {"x0": 0.0}
        if one.kg is not None:
            params["mass"] = one.kg
        cases.append((params, [[0, "E", "S", False], [one.out_s, "S", "E", True],
                               [one.out_s + one.for_s, "E", "S", False]]))
    return cases, Supply(feed.tank_m3, feed.tank_pa, feed.manifold_m3, feed.c, 0.35, SET_PA, BAND_PA)
