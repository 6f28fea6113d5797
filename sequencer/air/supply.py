"""What feeds several props: a tank with its compressor, and from it a tree of volumes, each behind a way of its own.

Plain SI values, frozen. A node is air in a manifold, or between a prop's own regulator and its valves. What is drawn
from it, and what its pressure does, is `manifold`'s; what the tank does is `compressor`'s; who draws is `shared`'s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sequencer.air.cylinder import CylinderAir, Spool
from sequencer.air.flow import Flow
from sequencer.air.spool import Way

BAND_PA = 0.5e5
"""A regulator is open fully so far below its set pressure (assumed, see `parts.Regulator`)."""
FULL_DUTY = 1.0


@dataclass(frozen=True, slots=True)
class Compressor:
    """Free air delivered (m3/s ANR) while it runs, whatever the pressure; absolute switching pressures; duty.

    `duty` is the share of any `window_s` that it may run. Its rest is counted as a bucket that fills by 1 - duty a
    second while it runs and empties by duty a second while it does not: from rest it may run duty x window on end,
    then it is locked out until the bucket is half empty (assumed: a thermal cut-out that has to cool).
    """

    delivery_m3_s: float
    cut_in_pa: float
    cut_out_pa: float
    duty: float = FULL_DUTY
    window_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Tank:
    """Air at 20 C throughout: a tank that gives its air within seconds cools and gives up to 1 / 1.4 of it at first.

    `compressor` None: a tank that nothing fills. `start_pa` absolute, at 0 s.
    """

    volume_m3: float
    start_pa: float
    compressor: Compressor | None = None
    leak_m3_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Node:
    """A volume fed by `way` from the node `feed` (an index before its own), or from the tank (None).

    `set_pa` None: a plain way, that air may take back as well. Else a regulator: fully open `band_pa` below its set
    pressure, shut at it, not relieving; `way` is then regulator and line in series.
    """

    name: str
    volume_m3: float
    way: Flow
    feed: int | None = None
    set_pa: float | None = None
    band_pa: float = BAND_PA


@dataclass(frozen=True, slots=True)
class SupplyAir:
    """A tank and what hangs on it. A node stands behind the one that feeds it."""

    tank: Tank
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class PropAir:
    """A cylinder on a node. `before`: what its valve connects cap and rod end to at 0 s, at which it has settled.

    Props with the same `valve` share that valve's flow; None: a valve of its own. The supply pressure that the
    cylinder names counts for nothing here.
    """

    name: str
    cylinder: CylinderAir
    before: tuple[Way, Way]
    node: int
    valve: str | None = None


@dataclass(frozen=True, slots=True)
class NozzleAir:
    """A valve that blows into the open while it is fed: `way` is valve, tube and nozzle in series."""

    name: str
    way: Flow
    spool: Spool
    node: int


def faults_of_supply(supply: SupplyAir) -> tuple[str, ...]:
    """What makes a supply impossible to reckon, in words. Empty when it can be."""
    tank, compressor = supply.tank, supply.tank.compressor
    rules = [
        (0 < tank.volume_m3 < math.inf, f"tank of {tank.volume_m3} m3: its volume must be above 0"),
        (0 < tank.start_pa < 5e6, f"tank at {tank.start_pa} Pa absolute: it must lie between 0 and 5 MPa"),
        (tank.leak_m3_s >= 0, f"leak of {tank.leak_m3_s} m3/s: it must not be negative"),
    ]
    if compressor is not None:
        rules += [
            (compressor.delivery_m3_s > 0, f"delivery of {compressor.delivery_m3_s} m3/s: it must be above 0"),
            (0 < compressor.cut_in_pa < compressor.cut_out_pa < 5e6,
             f"cut-in at {compressor.cut_in_pa} Pa and cut-out at {compressor.cut_out_pa}: the first must be lower"),
            (0 < compressor.duty <= 1 and compressor.window_s > 0,
             f"duty of {compressor.duty} of {compressor.window_s} s: a share above 0, at most 1, of some time"),
        ]
    for at, node in enumerate(supply.nodes):
        rules += [
            (node.volume_m3 > 0, f"{node.name} of {node.volume_m3} m3: its volume must be above 0"),
            (node.way.c_m3_s_pa > 0, f"{node.name}: the way to it passes nothing"),
            (node.feed is None or 0 <= node.feed < at, f"{node.name} is not behind what feeds it"),
            (node.band_pa > 0, f"{node.name}: a regulator with a band of {node.band_pa} Pa, which must be above 0"),
            (node.set_pa is None or 0 < node.set_pa < 5e6, f"{node.name}: set to {node.set_pa} Pa absolute"),
        ]
    return tuple(words for holds, words in rules if not holds)
