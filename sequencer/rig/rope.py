"""A rope over pulleys that a cylinder pulls: how much further the load goes than the rod, and what is lost.

`multiplies 3 times`: the load travels three times the stroke and weighs three times as much at the rod.
Ranges by common practice, no source. A rope pulls and never pushes; weight has to bring the load back.
"""

from typing import ClassVar, Literal

from sequencer.rig.base import Part, between, counted
from sequencer.rig.swing import Mass
from sequencer.units import read_quantity


class Rope(Part):
    kind: ClassVar[str] = "rope"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {cylinder:@cylinder}",
        "carries {carries:mass}",
        "length {length:length}",
        "multiplies {times:count} times",
        "pulleys {pulleys:count}",
        "each pulley loses {loss:share}",
        "stretches {stretch:share}",
        "pulls while {pulls:extending|retracting}",
    )

    cylinder: str
    carries: Mass
    length: between("10 cm", "100 m")
    times: counted(1, 8) = 1
    pulleys: counted(0, 16) = 0
    # 5 % for a sheave on a plain bearing, from memory.
    loss: between("0 %", "50 %") = read_quantity("5 %")
    # Longer under its load, as a share of its length.
    stretch: between("0 %", "30 %") = read_quantity("0 %")
    pulls: Literal["extending", "retracting"] = "retracting"

    @property
    def efficiency(self) -> float:
        """The share of the pull that is left after the pulleys."""
        return (1 - self.loss.si) ** self.pulleys
