"""A compressor with its tank: the phrases of its plate -> free air delivered, volume and switching pressures.

Ranges run from the smallest airbrush pump to a workshop machine (common practice, no source). How fast the
tank empties is left to the air room.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between, contradiction
from sequencer.units import Quantity, read_quantity


class Compressor(Part):
    kind: ClassVar[str] = "compressor"
    inside_prop: ClassVar[bool] = False
    phrases: ClassVar[tuple[str, ...]] = (
        "delivers {flow:flow} at {flow_at:pressure}",
        "tank {tank:volume}",
        "tank starts at {starts:pressure}",
        "cuts in at {cut_in:pressure}",
        "cuts out at {cut_out:pressure}",
        "runs at most {duty:share} of the time",
        "runs at most {duty:share} of any {duty_window:time}",
        "relief at {relief:pressure}",
        "leaks {leak:flow}",
    )

    flow: between("0.1 scfm", "200 scfm")
    flow_at: between("10 psi", "250 psi")
    tank: between("0.2 L", "5000 L")
    cut_in: between("10 psi", "250 psi")
    cut_out: between("15 psi", "300 psi")
    # 50 % is what is often said of small oil-free machines (from memory); too high a share hides overheating.
    duty: between("1 %", "100 %") = read_quantity("50 %")
    # A window of 10 min: wording found on trade pages about duty cycle.
    duty_window: between("1 min", "60 min") = read_quantity("10 min")
    relief: between("15 psi", "400 psi") | None = None
    leak: between("0 scfm", "50 scfm") | None = None
    # When the run begins; None: full.
    starts: between("0 psi", "300 psi") | None = None

    def check(self) -> None:
        if self.cut_in.si >= self.cut_out.si:
            raise contradiction("cut_in", f"it cuts in at {self.cut_in}, which is not below {self.cut_out}, "
                                          "where it cuts out; the first must be the lower one")
        if self.relief is not None and self.relief.si <= self.cut_out.si:
            raise contradiction("relief", f"the relief valve opens at {self.relief}, before the compressor "
                                          f"cuts out at {self.cut_out}; it would blow at every filling")
        if self.starts is not None and self.starts.si > self.cut_out.si:
            raise contradiction("starts", f"the tank starts at {self.starts}, and the compressor cuts out at "
                                          f"{self.cut_out}; it is never fuller than that")

    @property
    def switching(self) -> tuple[Quantity, Quantity]:
        """Cut-in and cut-out."""
        return self.cut_in, self.cut_out
