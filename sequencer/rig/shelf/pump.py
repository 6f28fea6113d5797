"""Small 12 V pumps. Watts and times are common practice, no source: read the plate of yours."""

from __future__ import annotations

from sequencer.rig.shelf.shape import PRACTICE, ShelfPart

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("pump_washer", "pump", "12 V washer pump, for a spit of water",
              (("draws 40 W", PRACTICE), ("on for at most 10 s", f"{PRACTICE}; it is built for short use"))),
    ShelfPart("pump_fountain", "pump", "12 V fountain pump for steady running", (("draws 6 W", PRACTICE),)),
)
