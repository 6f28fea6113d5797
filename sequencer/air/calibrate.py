"""A cylinder as described -> the same as it was timed: needles and friction fitted to every time that was taken."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from sequencer.air.fit import Fit, fit_way
from sequencer.air.from_rig import Described, Toward, Unknowns, unknowns_of

MOST_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Calibration:
    """The unknowns of a cylinder: as described, or as fitted to its times. `fits` are the ways that were timed."""

    unknowns: Unknowns
    fits: tuple[Fit, ...]

    def fit(self, toward: Toward) -> Fit | None:
        return next((fit for fit in self.fits if fit.toward == toward), None)


@lru_cache(maxsize=256)
def calibrate(described: Described) -> Calibration:
    """The needles, and where they are not enough the friction, with which a cylinder moves as it was timed.

    Each way hangs a little on the needle of the other, through which air comes in, and both on one friction; so they
    are fitted in turn until neither changes.
    """
    part = described.cylinder
    unknowns = unknowns_of(part)
    timed: list[tuple[Toward, float]] = []
    timed += [("out", part.measured_out.si)] if part.measured_out is not None else []
    timed += [("home", part.measured_back.si)] if part.measured_back is not None else []
    if part.measured_at is not None:
        described = replace(described, pressure_pa_gauge=part.measured_at.si)
    fits: dict[Toward, Fit] = {}
    for _ in range(MOST_ROUNDS):
        before = unknowns
        for toward, measured_s in timed:
            fits[toward] = fit_way(described, unknowns, toward, measured_s)
            unknowns = fits[toward].unknowns
        if len(timed) < 2 or unknowns == before:
            break
    return Calibration(unknowns, tuple(fits.values()))
