"""A manifold: one inlet, several ports, and a regulator before them if one is fitted.

Which prop sits on which port is said by the prop; that no port is used twice is for the checks.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between, counted
from sequencer.units import read_quantity


class Manifold(Part):
    kind: ClassVar[str] = "manifold"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {source:@line|compressor|manifold}",
        "ports {ports:count}",
        "regulator {regulator:pressure}",
        "volume {volume:volume}",
    )

    source: str
    # More than any block that is sold in one piece (common practice, no source).
    ports: counted(1, 64)
    # Up to what plastic tube bears, about 10 bar, and some more for metal (from memory).
    regulator: between("3 psi", "250 psi") | None = None
    # Block and hoses at its pressure; 1 L from memory. Too small a figure makes the pressure dip deeper
    # than it does.
    volume: between("0.005 L", "100 L") = read_quantity("1 L")
