"""Compressors by the size of their tank, as workshops have them.

From memory of plates on machines of that size; machines differ by a third, so read the plate of yours.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, MEMORY, PRACTICE, ShelfPart

PLATE = f"{MEMORY}, plates on machines of this size"
OIL_FREE = f"{PRACTICE}: oil-free machines are often sold for half of the time"
BELT = f"{PRACTICE}: belt-driven machines are often sold for three quarters of the time"


def _compressor(gallons: int, about: str, *says: tuple[str, str]) -> ShelfPart:
    tank = (f"tank {gallons} gal", MEANING)
    return ShelfPart(f"compressor_{gallons}_gal", "compressor", about, (tank, *says))


PARTS: tuple[ShelfPart, ...] = (
    _compressor(6, "small oil-free compressor with a 6 gal tank",
                ("delivers 2.6 scfm at 90 psi", PLATE), ("cuts in at 120 psi", PLATE),
                ("cuts out at 150 psi", PLATE), ("runs at most 50 % of the time", OIL_FREE)),
    _compressor(20, "oil-free compressor with a 20 gal tank",
                ("delivers 5.1 scfm at 90 psi", PLATE), ("cuts in at 95 psi", PLATE),
                ("cuts out at 125 psi", PLATE), ("runs at most 50 % of the time", OIL_FREE)),
    _compressor(60, "belt-driven compressor with a 60 gal tank",
                ("delivers 11.5 scfm at 90 psi", PLATE), ("cuts in at 105 psi", PLATE),
                ("cuts out at 135 psi", PLATE), ("runs at most 75 % of the time", BELT)),
)
