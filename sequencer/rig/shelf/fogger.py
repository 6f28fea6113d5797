"""Fog machines, switched by their remote contact: the output closes the contact, the mains are the
machine's own.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import PRACTICE, ShelfPart

COIL = ("draws 0.5 W", f"{PRACTICE}: the coil of a small relay at its remote contact")

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("fogger_small", "fogger", "small fog machine of about 400 W",
              (("ready after 3 min", PRACTICE),
               ("on for at most 10 s", f"{PRACTICE}; the block cools and must heat again"), COIL)),
    ShelfPart("fogger_large", "fogger", "fog machine of about 1,000 W",
              (("ready after 8 min", PRACTICE),
               ("on for at most 20 s", f"{PRACTICE}; the block cools and must heat again"), COIL)),
)
