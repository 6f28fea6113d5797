"""A fog machine: an output that makes it fog, and the time its heater needs first.

`ready after` counts from the moment the board has power. Whether fog may be made at all is not for this file.
"""

from typing import ClassVar

from sequencer.rig.base import between
from sequencer.rig.switched import SWITCHED_PHRASES, Switched
from sequencer.units import read_quantity


class Fogger(Switched):
    kind: ClassVar[str] = "fogger"
    phrases: ClassVar[tuple[str, ...]] = (*SWITCHED_PHRASES, "ready after {warm_up:time}")

    # Small machines heat for 3 to 8 min: common practice, no source. Too short and the
    # first scares come without fog.
    warm_up: between("0 s", "60 min") = read_quantity("5 min")
