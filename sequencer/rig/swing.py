"""What a lever and a four-bar share: a cylinder between a fixed pin and a pin on an arm that swings.

Angles are of the arm, above level; `start` with the rod home, `end` with it out. The cylinder's fixed pin
lies at a distance from the arm's pivot, in a direction above level seen from there. Forces are left to the
air room.
"""

from math import cos, sqrt
from typing import Any, ClassVar

from sequencer.rig.base import Part, between, contradiction
from sequencer.units import say

SWING_PHRASES = (
    "on {cylinder:@cylinder}",
    "rod {rod_at:length} from the pivot",
    "cylinder {base_at:length} from the pivot at {base_angle:angle}",
    "swings from {start:angle} to {end:angle}",
    "carries {carries:mass}",
)

# A thumb's breadth to the size of a barn door; common practice, no source.
Arm: Any = between("5 mm", "10 m")
# One full turn each way, so that an author may count angles as they come.
Angle: Any = between("-360 deg", "360 deg")
Mass: Any = between("0.001 kg", "1000 kg")


class Swing(Part):
    phrases: ClassVar[tuple[str, ...]] = SWING_PHRASES

    cylinder: str
    rod_at: Arm
    base_at: Arm
    base_angle: Angle
    start: Angle
    end: Angle
    carries: Mass

    def pin_to_pin_m(self, angle_rad: float) -> float:
        """Length of the cylinder from pin to pin, in metres, with the arm at this angle.

        Law of cosines (Euclid, Elements II.12-13): l^2 = a^2 + d^2 - 2 a d cos(angle between).
        """
        a, d = self.rod_at.si, self.base_at.si
        square = a * a + d * d - 2 * a * d * cos(angle_rad - self.base_angle.si)
        return sqrt(max(square, 0.0))

    @property
    def stroke_used_m(self) -> float:
        """How much further out the rod is at the end of the swing than at its start, in metres."""
        return self.pin_to_pin_m(self.end.si) - self.pin_to_pin_m(self.start.si)


def check_swing(swing: Swing) -> None:
    """Raises a contradiction where no cylinder could swing the arm so."""
    check_turns(swing.start, swing.end)
    if swing.stroke_used_m <= 0:
        home, out = (say(swing.pin_to_pin_m(angle.si), swing.base_at) for angle in (swing.start, swing.end))
        raise contradiction("start", f"the cylinder would be {home} from pin to pin at {swing.start} and "
                                     f"{out} at {swing.end}, but a rod that goes out gets longer; is the "
                                     "swing written the wrong way round?")


def check_turns(start: Any, end: Any) -> None:
    """A thousandth of a radian is less than any linkage holds."""
    if abs(start.si - end.si) < 1e-3:
        raise contradiction("end", f"it starts and ends at {start}, so nothing moves")
