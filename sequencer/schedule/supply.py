"""Which air reaches a cylinder and what it drives: the parts of a rig -> the stroke to ask for.

The tube of a cylinder is its own where one is said, else its prop's; the pressure is that of the nearest regulator
on the way to the compressor, else the one at which the compressor cuts in, the least there is all evening.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from sequencer.air.request import StrokeRequest, Told
from sequencer.frozen import frozen
from sequencer.rig.base import Part
from sequencer.rig.compressor import Compressor
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.prop import Prop
from sequencer.rig.tubes import inner_m
from sequencer.rig.valve import Valve
from sequencer.show.model import Placed
from sequencer.units import Quantity

if TYPE_CHECKING:
    from sequencer.air.from_rig import Toward, ValveWay

MOST_SOURCES = 16
"""A chain of air sources longer than this is a ring; that is found and said elsewhere."""


@frozen
class Air:
    """Inner diameter and length of the tube to a cylinder (length 0: none), and the gauge pressure or None."""

    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float | None


def valve_of(parts: Mapping[str, Placed], cylinder: str) -> Valve | None:
    """The valve that a cylinder is on; None where the rig has no such pair."""
    placed = parts.get(cylinder)
    if placed is None or not isinstance(placed.part, Cylinder):
        return None
    valve = parts.get(placed.part.valve)
    return valve.part if valve is not None and isinstance(valve.part, Valve) else None


def cylinders_on(parts: Mapping[str, Placed], valve: str) -> tuple[str, ...]:
    """The cylinders that a valve drives, in the order of the text."""
    return cylinders_by_valve(parts).get(valve, ())


def cylinders_by_valve(parts: Mapping[str, Placed]) -> dict[str, tuple[str, ...]]:
    """The cylinders that each valve drives; a valve without any is not named."""
    found: dict[str, list[str]] = {}
    for name, placed in parts.items():
        if isinstance(placed.part, Cylinder):
            found.setdefault(placed.part.valve, []).append(name)
    return {valve: tuple(names) for valve, names in found.items()}


def air_of(parts: Mapping[str, Placed], cylinder: Cylinder) -> Air:
    """The air at a cylinder."""
    placed = parts.get(cylinder.prop) if cylinder.prop is not None else None
    prop = placed.part if placed is not None and isinstance(placed.part, Prop) else None
    tubed = cylinder if cylinder.tube is not None else prop
    inner, length = 0.0, 0.0
    if tubed is not None and tubed.tube is not None and tubed.length is not None:
        inner, length = inner_m(tubed.tube, tubed.inside) or 0.0, tubed.length.si
    return Air(inner, length if inner > 0 else 0.0, pressure_at(parts, prop))


def driven_by(parts: Mapping[str, Placed], cylinder: str) -> tuple[Part, ...]:
    """The linkages and springs that are on a cylinder, in the order of the text."""
    # Not by `getattr`: where there is no such field a model takes a hundred times as long to say so.
    return tuple(placed.part for placed in parts.values() if vars(placed.part).get("cylinder") == cylinder)


def request_for(parts: Mapping[str, Placed], cylinder: str, start: float, toward: Toward,
                earlier: tuple[Told, ...] = (), by: ValveWay | None = None) -> StrokeRequest | None:
    """The stroke of a cylinder that stood at rest at `start` before `earlier` commands; None where it has no valve.

    `by`: what the valve does, where that is not plainly `toward`.
    """
    valve = valve_of(parts, cylinder)
    if valve is None:
        return None
    part = parts[cylinder].part
    assert isinstance(part, Cylinder)
    air = air_of(parts, part)
    return StrokeRequest(part, valve, air.tube_inner_m, air.tube_length_m, air.pressure_pa_gauge, start, toward,
                         driven_by(parts, cylinder), earlier, by)


def pressure_at(parts: Mapping[str, Placed], prop: Prop | None) -> float | None:
    """The gauge pressure in Pa at which a prop is fed; None where nothing says it."""
    told = pressure_told(parts, prop)
    return None if told is None else told[1].si


def fed_by(parts: Mapping[str, Placed], part: Part) -> Placed | None:
    """What sets the pressure that comes to a prop or a manifold: the next regulator on the way, else the compressor;
    None where nothing does."""
    placed = parts.get(getattr(part, "source", None) or "")
    for _ in range(1, MOST_SOURCES):  # the part itself counts as one
        if placed is None or isinstance(placed.part, Compressor) or getattr(placed.part, "regulator", None) is not None:
            return placed
        placed = parts.get(getattr(placed.part, "source", None) or "")
    return None


def pressure_told(parts: Mapping[str, Placed], prop: Prop | None) -> tuple[str, Quantity] | None:
    """The same as the author says it, with what sets it: a `regulator`, or where a compressor `cuts in`."""
    if prop is None:
        return None
    here: Part | None = prop
    if prop.regulator is None:
        placed = fed_by(parts, prop)
        here = None if placed is None else placed.part
    if here is None:
        return None
    if isinstance(here, Compressor):
        return "cuts in", here.cut_in
    return "regulator", here.regulator  # type: ignore[attr-defined]
