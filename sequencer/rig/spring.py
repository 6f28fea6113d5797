"""An outside spring on a cylinder: how stiff, how hard it pulls already with the rod home, and toward where.

A spring inside a single-acting cylinder belongs to the cylinder. Ranges by common practice, no source.
"""

from typing import ClassVar, Literal

from sequencer.rig.base import Part, between, contradiction
from sequencer.units import read_quantity


class Spring(Part):
    kind: ClassVar[str] = "spring"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {cylinder:@cylinder}",
        "rate {rate:stiffness}",
        "preload {preload:force}",
        "pushes {pushes:home|out}",
    )

    cylinder: str
    rate: between("0 N/mm", "200 N/mm")
    # With the rod home.
    preload: between("0 N", "2000 N") = read_quantity("0 N")
    pushes: Literal["home", "out"]

    def check(self) -> None:
        if self.rate.si == 0 and self.preload.si == 0:
            raise contradiction("rate", "a spring with neither a rate nor a preload does nothing")

    def force_n(self, extended_m: float) -> float:
        """Force toward `out` in newtons, with the rod this far out.

        A spring that pushes home is drawn tighter as the rod goes out; one that pushes out lets go until it
        is slack.
        """
        if self.pushes == "home":
            return -(self.preload.si + self.rate.si * extended_m)
        return max(self.preload.si - self.rate.si * extended_m, 0.0)
