"""What a motion hangs on, as the rig names it, and the cylinder that this describes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sequencer.frozen import frozen
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve

if TYPE_CHECKING:
    from sequencer.air.from_rig import Described, Toward, ValveWay

UNSAID_PA_GAUGE = 60 * 6894.757
"""Where times were taken and no pressure is known, what lies between start and end is reckoned at this one: 60 psi, a
usual setting (common practice, no source). The times themselves are as taken."""


class UnknownAir(ValueError):
    """Neither the pressure at a cylinder nor its times are known."""


@frozen
class Told:
    """An earlier command that still counts: so long before the one asked for, the valve was sent that way."""

    before_us: int
    way: ValveWay


@frozen
class StrokeRequest:
    """What a motion hangs on. `start` is the share of the way (0 home, 1 out) where the rod stood at rest before the
    first command: the first of `earlier`, in order of time, else the one asked for.

    A `tube_length_m` of 0 is a valve on the cylinder itself; `tube_inner_m` then means nothing.
    `pressure_pa_gauge` None: not known, which only a cylinder with measured times can do without. `drives` are the
    linkages and springs that are on this cylinder. `by` is what the valve does to send it `toward`, where that is not
    plainly that: a centre that feeds both ends pushes it out, and more slowly.
    """

    cylinder: Cylinder
    valve: Valve
    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float | None
    start: float
    toward: Toward
    drives: tuple[Part, ...] = ()
    earlier: tuple[Told, ...] = ()
    by: ValveWay | None = None

    @property
    def way(self) -> ValveWay:
        """What the valve does."""
        return self.toward if self.by is None else self.by


def described_by(request: StrokeRequest) -> Described:
    """The parts of a request. Raises UnknownAir where neither pressure nor times are known."""
    from sequencer.air.from_rig import Described  # the motion, which a show without one does not need

    part, pressure = request.cylinder, request.pressure_pa_gauge
    if pressure is None:
        if part.measured_out is None and part.measured_back is None:
            raise UnknownAir(f"neither the pressure at {part.name} nor its times are known")
        pressure = UNSAID_PA_GAUGE if part.measured_at is None else part.measured_at.si
    return Described(part, request.valve, request.tube_inner_m, request.tube_length_m, pressure, request.drives)
