"""A power supply: volts and the most amperes it may give. What draws from it is summed by the checks.

Up to 60 V dc, beyond which extra-low voltage ends (IEC 61140, from memory); amperes by common
practice, no source.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between


class Supply(Part):
    kind: ClassVar[str] = "supply"
    inside_prop: ClassVar[bool] = False
    phrases: ClassVar[tuple[str, ...]] = ("gives {voltage:voltage}", "up to {current:current}")

    voltage: between("3 V", "60 V")
    current: between("10 mA", "100 A")

    @property
    def power_w(self) -> float:
        """The most it can give, in watts."""
        return self.voltage.si * self.current.si
