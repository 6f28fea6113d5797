"""A main line: tube from the compressor, or from another line, to where air is shared out.

`tube` is the outer size as sold; `tubes` knows what it is inside. Flow through it is the air room's.
"""

from typing import ClassVar

from sequencer.rig.base import Part
from sequencer.rig.tubes import TubeInside, TubeLength, TubeSize, check_tube, inner_m


class Line(Part):
    kind: ClassVar[str] = "line"
    inside_prop: ClassVar[bool] = False
    phrases: ClassVar[tuple[str, ...]] = (
        "from {source:@compressor|line|manifold}",
        "tube {tube:length}",
        "length {length:length}",
        "inside {inside:length}",
    )

    source: str
    tube: TubeSize
    length: TubeLength
    inside: TubeInside | None = None

    def check(self) -> None:
        check_tube(self.tube, self.length, self.inside)

    @property
    def inner_m(self) -> float:
        """Inner diameter in metres."""
        bore = inner_m(self.tube, self.inside)
        assert bore is not None
        return bore
