"""A cylinder as described -> the same as it was timed: needles and friction fitted to every time that was taken."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from sequencer.air.fit import Fit, fit_ways
from sequencer.air.from_rig import Described, Toward, Unknowns, unknowns_of
from sequencer.frozen import frozen


@frozen
class Calibration:
    """The unknowns of a cylinder: as described, or as fitted to its times. `fits` are the ways that were timed."""

    unknowns: Unknowns
    fits: tuple[Fit, ...]

    def fit(self, toward: Toward) -> Fit | None:
        return next((fit for fit in self.fits if fit.toward == toward), None)


@lru_cache(maxsize=256)
def calibrate(described: Described) -> Calibration:
    """The needles, and where they are not enough the friction, with which a cylinder moves as it was timed."""
    part = described.cylinder
    unknowns = unknowns_of(part)
    timed: list[tuple[Toward, float]] = []
    timed += [("out", part.measured_out.si)] if part.measured_out is not None else []
    timed += [("home", part.measured_back.si)] if part.measured_back is not None else []
    if part.measured_at is not None:
        described = replace(described, pressure_pa_gauge=part.measured_at.si)
    return Calibration(*fit_ways(described, unknowns, timed))
