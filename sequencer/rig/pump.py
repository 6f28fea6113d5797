"""A pump, such as one that spits water: it runs or it stops. Running it dry is for the builder to prevent."""

from typing import ClassVar

from sequencer.rig.switched import Switched


class Pump(Switched):
    kind: ClassVar[str] = "pump"
