"""A lever that a cylinder swings about a pivot: where its pins are, how long its arm is, what hangs on it.

Ranges by common practice, no source. What it does to the load on the cylinder is the air room's.
"""

from typing import ClassVar

from sequencer.rig.base import between
from sequencer.rig.swing import SWING_PHRASES, Arm, Swing, check_swing
from sequencer.units import read_quantity


class Lever(Swing):
    kind: ClassVar[str] = "lever"
    phrases: ClassVar[tuple[str, ...]] = (
        *SWING_PHRASES, "arm {arm:length}", "arm weighs {arm_mass:mass}", "pivot friction {drag:share}",
    )

    # From the pivot to the middle of what it carries.
    arm: Arm
    arm_mass: between("0 kg", "500 kg") = read_quantity("0 kg")
    # The share of the turning force that the pivot eats.
    drag: between("0 %", "90 %") = read_quantity("0 %")

    def check(self) -> None:
        check_swing(self)
