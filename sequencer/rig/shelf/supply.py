"""Power supplies at 12 V. Those up to 100 W can be had listed as Class 2; being listed is a thing of yours
to read.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, ShelfPart

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("supply_12v_2a", "supply", "12 V, 2 A", (("gives 12 V", MEANING), ("up to 2 A", MEANING))),
    ShelfPart("supply_12v_5a", "supply", "12 V, 5 A", (("gives 12 V", MEANING), ("up to 5 A", MEANING))),
    ShelfPart("supply_12v_8a", "supply", "12 V, 8 A", (("gives 12 V", MEANING), ("up to 8 A", MEANING))),
)
