"""A prop: where its air comes from, through which tube, at what pressure, and whether people can reach it.

What moves in it are parts of their own that stand inside its block. `reach` has no default: nobody but the
builder knows it, and the checks ask where it is missing.
"""

from typing import ClassVar, Literal

from sequencer.rig.base import Part, between, contradiction, counted
from sequencer.rig.tubes import TubeInside, TubeLength, TubeSize, check_tube, inner_m


class Prop(Part):
    kind: ClassVar[str] = "prop"
    inside_prop: ClassVar[bool] = False
    phrases: ClassVar[tuple[str, ...]] = (
        "air from {source:@manifold} port {port:count}",
        "air from {source:@manifold|line|compressor}",
        "tube {tube:length}",
        "length {length:length}",
        "inside {inside:length}",
        "regulator {regulator:pressure}",
        "reach {reach:none|fenced|possible}",
    )

    source: str | None = None
    port: counted(1, 64) | None = None
    tube: TubeSize | None = None
    length: TubeLength | None = None
    inside: TubeInside | None = None
    # As on a manifold: up to what metal parts bear (from memory).
    regulator: between("3 psi", "250 psi") | None = None
    reach: Literal["none", "fenced", "possible"] | None = None

    def check(self) -> None:
        check_tube(self.tube, self.length, self.inside)
        for field in ("tube", "regulator"):
            if self.source is None and getattr(self, field) is not None:
                raise contradiction(field, f"it has a {field} but no air: write `air from` and a manifold")

    @property
    def inner_m(self) -> float | None:
        """Inner diameter of its tube in metres; None without a tube."""
        return inner_m(self.tube, self.inside) if self.tube is not None else None
