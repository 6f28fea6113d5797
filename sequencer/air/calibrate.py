"""A cylinder as described -> the same as it was timed: needles and friction fitted to every time that was taken."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from sequencer.air.fit import CLOSE, PATIENCE, Fit, arrival_s, fit_way
from sequencer.air.from_rig import Described, Toward, Unknowns, unknowns_of
from sequencer.frozen import frozen

MOST_ROUNDS = 4


@frozen
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
        for toward, measured_s in timed:
            if toward in fits and _still(described, unknowns, fits[toward]):
                continue
            fits[toward] = fit_way(described, unknowns, toward, measured_s)
            unknowns = fits[toward].unknowns
        if len(timed) < 2 or _still(described, unknowns, fits[timed[0][0]]):
            break
    return Calibration(unknowns, tuple(fits.values()))


def _still(described: Described, unknowns: Unknowns, fit: Fit) -> bool:
    """Whether what was fitted after it has left a fit as it was."""
    if unknowns == fit.unknowns:
        return True
    found = arrival_s(described, unknowns, fit.toward, fit.measured_s * PATIENCE)
    return fit.predicted_s is not None and abs(found / fit.predicted_s - 1) <= CLOSE
