"""The outer size of a tube, as it is sold -> its inner diameter in metres.

Tube is sold by its outer size, air goes through the inner one, and makers differ: `inside 0.17 in` says what
stands on the tube itself. Inner diameters here are from memory (typical polyurethane tube; a span is taken in
its middle), the metric outer sizes from a secondary copy of a distributor's sheet. A tube 5 % narrower than
said makes a stroke about 2 to 2.6 % slower (computed with the air model's prototype).
"""

from __future__ import annotations

from typing import Any

from sequencer.rig.base import between, contradiction
from sequencer.units import Quantity, read_quantity, say

INNER_BY_OUTER: dict[str, str] = {
    "1/8 in": "0.0625 in", "5/32 in": "0.093 in", "3/16 in": "0.125 in", "1/4 in": "0.165 in",
    "5/16 in": "0.1875 in", "3/8 in": "0.2475 in", "1/2 in": "0.3475 in",
    "4 mm": "2.5 mm", "6 mm": "4 mm", "8 mm": "5 mm", "10 mm": "6.5 mm", "12 mm": "8 mm",
}

# From the thinnest tube in the table to the bore of a 1 in hose; common practice, no source.
TubeSize: Any = between("3 mm", "40 mm")
TubeInside: Any = between("1 mm", "35 mm")
# Longer than any yard; the tube formula of the air model was made for far less (common practice, no source).
TubeLength: Any = between("1 cm", "300 m")


def inner_m(tube: Quantity, inside: Quantity | None = None) -> float | None:
    """The inner diameter in metres: as said, else from the table; None where the table has no such tube.

    >>> inner_m(read_quantity("6 mm"))
    0.004
    """
    if inside is not None:
        return inside.si
    for outer, inner in INNER_BY_OUTER.items():
        # A hundredth of a millimetre: 8 mm and 5/16 in differ by six of them and are not the same tube.
        if abs(read_quantity(outer).si - tube.si) < 1e-5:
            return read_quantity(inner).si
    return None


def check_tube(tube: Quantity | None, length: Quantity | None, inside: Quantity | None) -> None:
    """Raises a contradiction where the three do not describe one tube."""
    if tube is None:
        if length is not None or inside is not None:
            raise contradiction("length" if length is not None else "inside",
                                "a tube needs its outer size too: write `tube 1/4 in`, say")
        return
    if length is None:
        raise contradiction("tube", f"the tube of {tube} needs its length: write `length 12 ft`, say")
    bore = inner_m(tube, inside)
    if bore is None:
        raise contradiction("tube", f"no inner diameter is known for a tube of {tube}: "
                                    "measure it and write `inside 4.3 mm`, say")
    if bore >= tube.si:
        raise contradiction("inside", f"the tube is {tube} outside, so {say(bore, tube)} inside cannot be")
