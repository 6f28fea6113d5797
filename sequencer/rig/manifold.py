"""A manifold: one inlet, several ports, and a regulator before them if one is fitted.

Which prop sits on which port is said by the prop; that no port is used twice is for the checks.
"""

from typing import ClassVar

from sequencer.rig.base import Part, between, contradiction, counted
from sequencer.units import read_quantity


class Manifold(Part):
    kind: ClassVar[str] = "manifold"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {source:@line|compressor|manifold}",
        "ports {ports:count}",
        "regulator {regulator:pressure}",
        "regulator conductance {regulator_flow:conductance}",
        "regulator passes {regulator_passes:flow}",
        "volume {volume:volume}",
    )

    source: str
    # More than any block that is sold in one piece (common practice, no source).
    ports: counted(1, 64)
    # Up to what plastic tube bears, about 10 bar, and some more for metal (from memory).
    regulator: between("3 psi", "250 psi") | None = None
    # Wide open. None: 4 dm3/s/bar, a 1/4 in one (from memory).
    regulator_flow: between("0.02 dm3/s/bar", "60 dm3/s/bar") | None = None
    # Its nominal flow as catalogues print it: free air from 6 bar to 5 bar (common practice, no source).
    regulator_passes: between("1 L/min", "20000 L/min") | None = None
    # Block and hoses at its pressure; 1 L from memory. Too small a figure makes the pressure dip deeper
    # than it does.
    volume: between("0.005 L", "100 L") = read_quantity("1 L")

    def check(self) -> None:
        for field, said in (("regulator_flow", self.regulator_flow), ("regulator_passes", self.regulator_passes)):
            if said is not None and self.regulator is None:
                raise contradiction(field, f"its regulator passes {said}, and what it is set to is not said; write "
                                           "`regulator` and a pressure")
        if self.regulator_flow is not None and self.regulator_passes is not None:
            raise contradiction("regulator_passes", f"a regulator of {self.regulator_flow} that passes "
                                                    f"{self.regulator_passes} is said twice; keep one of them")
