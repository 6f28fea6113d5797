"""Small 12 V motors. Watts are common practice, no source: a motor that is held draws several times as
much.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import PRACTICE, ShelfPart

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("motor_wiper", "motor", "12 V wiper motor with its worm gear", (("draws 50 W", PRACTICE),)),
    ShelfPart("motor_gear_small", "motor", "small 12 V gear motor", (("draws 6 W", PRACTICE),)),
)
