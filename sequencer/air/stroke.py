"""One motion of one cylinder: how long from the command to the first motion, to any place on the way, to the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve

Toward = Literal["out", "home"]


@dataclass(frozen=True, slots=True)
class StrokeRequest:
    """What a motion hangs on. `start` is the fraction of the stroke (0 home, 1 out) where the rod stands at rest.

    A `tube_length_m` of 0 is a valve on the cylinder itself; `tube_inner_m` then means nothing.
    `pressure_pa_gauge` None: not known, which only a cylinder with measured times can do without.
    """

    cylinder: Cylinder
    valve: Valve
    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float | None
    start: float
    toward: Toward


@dataclass(frozen=True, slots=True)
class Stroke:
    """A motion from `start` to the end of the stroke, in microseconds from the command to the valve.

    `lead_us` is up to the first motion, `travel_us` from there to the end; `fastest_us` and `slowest_us` bound the
    arrival at the end. `free_air_std_l` is the free air drawn, in litres at 20 C and 100 kPa.
    """

    start: float
    toward: Toward
    lead_us: int
    travel_us: int
    fastest_us: int
    slowest_us: int
    free_air_std_l: float
    basis: Literal["measured", "estimate"]
    says: str

    @property
    def end_us(self) -> int:
        """From the command to the end of the stroke."""
        return self.lead_us + self.travel_us

    def arrival_us(self, fraction: float) -> int:
        """From the command until the rod passes `fraction` of the stroke (0 home, 1 out)."""
        raise NotImplementedError

    def band_us(self, fraction: float) -> tuple[int, int]:
        """The fastest and the slowest arrival at `fraction`."""
        raise NotImplementedError


def stroke(request: StrokeRequest) -> Stroke:
    """The motion that the request describes."""
    raise NotImplementedError
