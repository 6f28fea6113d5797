"""Times taken on a real cylinder -> its motion as it was described and as it is fitted, side by side.

Needles are set first, then the friction, both within bounds; a prop whose times need more than that is not what was
described, and `reached` says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sequencer.air.calibrate import calibrate
from sequencer.air.fit import Fit
from sequencer.air.from_rig import Toward, Unknowns, unknowns_of
from sequencer.air.request import StrokeRequest, described_by
from sequencer.air.stroke import Stroke, predict_stroke
from sequencer.rig.cylinder import Cylinder
from sequencer.units import UNITS, Quantity

FIELDS: dict[Toward, str] = {"out": "measured_out", "home": "measured_back"}
WAYS: tuple[Toward, ...] = ("out", "home")


@dataclass(frozen=True, slots=True)
class FittedWay:
    """One way that was timed. `before` None: as described it cannot be reckoned, since no pressure is known."""

    toward: Toward
    measured_s: float
    before: Stroke | None
    after: Stroke
    fit: Fit

    @property
    def reached(self) -> bool:
        """Whether any setting within the bounds gives the time."""
        return self.fit.reached


@dataclass(frozen=True, slots=True)
class Fitted:
    """A cylinder that was timed. `said` are its unknowns as described, `set_to` as fitted."""

    cylinder: str
    ways: tuple[FittedWay, ...]
    said: Unknowns
    set_to: Unknowns


def timed(cylinder: Cylinder, seconds: Mapping[Toward, float]) -> Cylinder:
    """The cylinder with these times in place of those it says; a way that is not in them is not timed.

    Raises ValueError for a time outside 10 ms to 60 s.
    """
    for toward, taken in seconds.items():
        if not 0.01 <= taken <= 60:
            raise ValueError(f"{taken:.3g} s {toward} is outside 10 ms to 60 s")
    update: dict[str, Any] = {field: None for field in FIELDS.values()}
    update |= {FIELDS[toward]: Quantity(taken, UNITS["s"], f"{taken:.4g} s") for toward, taken in seconds.items()}
    return cylinder.model_copy(update=update)


def times_said(cylinder: Cylinder) -> dict[Toward, float]:
    """The times that the cylinder itself says were measured."""
    said = ((toward, getattr(cylinder, field)) for toward, field in FIELDS.items())
    return {toward: taken.si for toward, taken in said if taken is not None}


def fitted(request: StrokeRequest) -> Fitted:
    """The cylinder of the request fitted to its times, of which it has at least one.

    Raises ValueError where the parts make no cylinder that can be reckoned.
    """
    part = request.cylinder
    untimed = replace(request, cylinder=timed(part, {}))
    calibration = calibrate(described_by(request))
    ways = []
    for toward, taken in times_said(part).items():
        fit = calibration.fit(toward)
        assert fit is not None
        ways.append(FittedWay(toward, taken, _whole(untimed, toward, known=request.pressure_pa_gauge is not None),
                              _predicted(request, toward), fit))
    return Fitted(part.name, tuple(ways), unknowns_of(part), calibration.unknowns)


def _whole(request: StrokeRequest, toward: Toward, known: bool) -> Stroke | None:
    return _predicted(request, toward) if known else None


def _predicted(request: StrokeRequest, toward: Toward) -> Stroke:
    """A whole stroke from rest at the other end."""
    return predict_stroke(replace(request, toward=toward, start=0.0 if toward == "out" else 1.0, earlier=()))
