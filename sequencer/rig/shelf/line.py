"""Tube for lines, by its outer size: the inner diameters of the tube table, each as a part to take it from.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, MEMORY, ShelfPart
from sequencer.rig.tubes import INNER_BY_OUTER

INSIDE = f"{MEMORY}, typical polyurethane tube"


def _tube(outer: str, inner: str) -> ShelfPart:
    number, unit = outer.split()
    size = f"{number.replace('/', '_')}_{unit}" if unit == "in" else f"{number}{unit}"
    return ShelfPart(f"tube_{size}", "line", f"polyurethane tube, {outer} outside",
                     ((f"tube {outer}", MEANING), (f"inside {inner}", INSIDE)))


PARTS: tuple[ShelfPart, ...] = tuple(_tube(outer, inner) for outer, inner in INNER_BY_OUTER.items())
