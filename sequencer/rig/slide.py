"""A slide that a cylinder pushes straight along a guide: what it carries, how steep, how hard it rubs.

Ranges by common practice, no source. A mass given here comes on top of what the cylinder `moves`.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between
from sequencer.rig.swing import Mass
from sequencer.units import read_quantity


class Slide(Part):
    kind: ClassVar[str] = "slide"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {cylinder:@cylinder}",
        "carries {carries:mass}",
        "rises {rises:angle}",
        "rubs {rubs:share}",
        "drag {drag:force}",
    )

    cylinder: str
    carries: Mass
    # Above level while the rod goes out.
    rises: between("-90 deg", "90 deg") = read_quantity("0 deg")
    # Friction as a share of the weight on the guide: drawer slides a few per cent, wood on wood a third (from
    # memory). None at all flatters the prop, so measure yours.
    rubs: between("0 %", "100 %") = read_quantity("0 %")
    drag: between("0 N", "2000 N") = read_quantity("0 N")
