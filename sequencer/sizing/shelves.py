"""The cylinders, tubes and valves of the shelf in one system of sizes -> every set of them that fits together.

Which bores there are: ISO 6432 (8 to 25 mm) and ISO 15552 (32 to 125 mm) in the metric system; round bodies and the
interchangeable square-head series in inches. Their sources stand with the parts, see `rig/shelf`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from sequencer.rig import shelf
from sequencer.rig.shelf.read import values_of
from sequencer.rig.tubes import INNER_BY_OUTER
from sequencer.units import Quantity, read_quantity

System = Literal["inch", "metric"]
UNIT_OF: dict[System, str] = {"inch": "in", "metric": "mm"}
VALVES = ("valve_5_2_eighth", "valve_5_2_quarter")
"""The valves that are tried, the smaller first: one coil, spring return."""


@dataclass(frozen=True, slots=True)
class Parts:
    """One cylinder, valve and tube, by the names of the shelf."""

    cylinder: str
    bore: Quantity
    rod: Quantity
    tube: Quantity
    valve: str


def system_of(length: Quantity) -> System:
    """Who measures in inches or feet buys inch parts."""
    return "inch" if length.unit.symbol in ("in", "ft") else "metric"


def cylinders(system: System) -> Iterator[tuple[str, Quantity, Quantity]]:
    """Name, bore and rod, the smallest bore first."""
    found = []
    for name in shelf.names("cylinder"):
        part = shelf.find(name)
        assert part is not None
        values = values_of(part)
        if values["bore"].unit.symbol == UNIT_OF[system]:
            found.append((name, values["bore"], values["rod"]))
    yield from sorted(found, key=lambda one: (one[1].si, one[2].si))


def tubes(system: System) -> tuple[Quantity, ...]:
    """Outer sizes, the thinnest first."""
    sizes = (read_quantity(outer) for outer in INNER_BY_OUTER)
    return tuple(sorted((size for size in sizes if size.unit.symbol == UNIT_OF[system]), key=lambda size: size.si))


def sets_with(cylinder: tuple[str, Quantity, Quantity], system: System) -> Iterator[Parts]:
    """Every tube and valve for a cylinder, in the order of the air that a stroke takes: thinnest tube first."""
    name, bore, rod = cylinder
    for tube in tubes(system):
        if tube.si < bore.si:
            for valve in VALVES:
                yield Parts(name, bore, rod, tube, valve)
