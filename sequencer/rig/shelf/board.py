"""Boards: each only names its profile; pins, room and limits are the profile's."""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, ShelfPart

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("avr328", "board", "small board: ATmega328P at 16 MHz", (("is avr328", MEANING),)),
    ShelfPart("avr2560", "board", "large board: ATmega2560 at 16 MHz", (("is avr2560", MEANING),)),
    ShelfPart("host", "board", "a board that is a program on this computer; it drives no real valve",
              (("is host", MEANING),)),
)
