"""A motor that an output switches: it runs or it stops. Speed and gearing are not modelled."""

from typing import ClassVar

from sequencer.rig.switched import Switched


class Motor(Switched):
    kind: ClassVar[str] = "motor"
