"""Cylinders by their bore, with the rod that goes with it: metric to ISO 6432 and ISO 15552, and inch bores.

The pairs were read in secondary copies, not in the standards; the source beside each says in which kind of
copy. Stroke, load and needles are the author's.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, MEMORY, PRACTICE, ShelfPart

# Bore and rod in mm.
ISO_6432 = ((8, 4), (10, 4), (12, 6), (16, 6), (20, 8), (25, 10))
ISO_15552 = ((32, 12), (40, 16), (50, 20), (63, 20), (80, 25), (100, 25), (125, 32))
# Bore and rod in inches, as written on a drawing.
ROUND_BODY = (
    ("7/16", "3/16"), ("9/16", "3/16"), ("3/4", "1/4"), ("7/8", "1/4"), ("1-1/16", "5/16"), ("1-1/4", "7/16"),
    ("1-1/2", "7/16"), ("2", "5/8"),
)
SQUARE_HEAD = (
    ("1-1/8", "1/2"), ("1-1/2", "5/8"), ("2", "5/8"), ("2-1/2", "5/8"), ("3-1/4", "1"), ("4", "1"),
    ("5", "1"), ("6", "1-3/8"),
)

FROM_ISO_6432 = "ISO 6432 series, as listed in an open cylinder-sizing tool"
FROM_ISO_15552 = "ISO 15552 series, as listed in an open cylinder-sizing tool"
FROM_ROUND = f"{MEMORY}, round-body cylinder with crimped heads"
FROM_SQUARE = "NFPA interchangeable series with standard rod, from one dimension table"
CUSHION = ("cushioned", f"{PRACTICE}: usually fitted, and only works if its screw is set")


def _metric(bore: int, rod: int, series: str, source: str, *more: tuple[str, str]) -> ShelfPart:
    return ShelfPart(
        f"cylinder_{bore}mm", "cylinder", f"double-acting cylinder, {bore} mm bore, {series}",
        ((f"bore {bore} mm", source), (f"rod {rod} mm", source), ("double acting", MEANING), *more),
    )


def _inch(body: str, bore: str, rod: str, source: str, *more: tuple[str, str]) -> ShelfPart:
    size = bore.replace("-", "_").replace("/", "_")
    return ShelfPart(
        f"cylinder_{body}_{size}_in", "cylinder", f"double-acting {body} cylinder, {bore} in bore",
        ((f"bore {bore} in", source), (f"rod {rod} in", source), ("double acting", MEANING), *more),
    )


PARTS: tuple[ShelfPart, ...] = (
    *(_metric(bore, rod, "ISO 6432 round body", FROM_ISO_6432) for bore, rod in ISO_6432),
    *(_metric(bore, rod, "ISO 15552 profile", FROM_ISO_15552, CUSHION) for bore, rod in ISO_15552),
    *(_inch("round", bore, rod, FROM_ROUND) for bore, rod in ROUND_BODY),
    *(_inch("square", bore, rod, FROM_SQUARE, CUSHION) for bore, rod in SQUARE_HEAD),
)
