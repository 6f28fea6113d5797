"""A scissor lift that a cylinder spreads: stages of crossed links, their angle, what stands on top.

Height is stages x link x sin(angle). Ranges by common practice, no source. Near level the force on the
cylinder grows without bound, so the least angle is 3 deg.
"""

from math import cos, sin
from typing import ClassVar

from sequencer.rig.base import Part, between, counted
from sequencer.rig.swing import Arm, Mass, check_turns
from sequencer.units import read_quantity


class Scissor(Part):
    kind: ClassVar[str] = "scissor"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {cylinder:@cylinder}",
        "stages {stages:count}",
        "links {link:length}",
        "opens from {start:angle} to {end:angle}",
        "carries {carries:mass}",
        "weighs {own_mass:mass}",
    )

    cylinder: str
    stages: counted(1, 20)
    # One link, from pin to pin.
    link: Arm
    start: between("3 deg", "87 deg")
    end: between("3 deg", "87 deg")
    carries: Mass
    own_mass: between("0 kg", "500 kg") = read_quantity("0 kg")

    def check(self) -> None:
        check_turns(self.start, self.end)

    def height_m(self, angle_rad: float) -> float:
        """Height of the stack, in metres, with the links at this angle above level."""
        return self.stages * self.link.si * sin(angle_rad)

    @property
    def base_travel_m(self) -> float:
        """How far the lowest joint slides along the base between start and end, in metres."""
        return self.link.si * abs(cos(self.start.si) - cos(self.end.si))
