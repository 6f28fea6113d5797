"""Where a mechanism is weakest on its way, and what spring or attachment would help, in the author's words."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, radians

from sequencer.air.from_rig import Toward
from sequencer.air.helping import PinHelp, SpringHelp, pin_for, spring_for, standing_at
from sequencer.checks.strokes import Moved
from sequencer.units import UNITS, Unit

NEAR_RAD = radians(30)
"""Nearer to its dead centre than this a lever is said to be near it: half of the push turns it (common practice, no
source; sin 30 deg)."""


def where(one: Moved, toward: Toward) -> str:
    """The weakest place: how far out, and how what is driven stands there."""
    at = one.margin(toward).at
    place = "with the rod home" if at == 0 else "all the way out" if at == 1 else f"at {100 * at:.0f} % of the stroke"
    stands = standing_at(one.strokes[toward].described, at)
    if stands is None:
        return f"weakest {place}"
    angle, off = f"{degrees(stands.angle_rad):.0f} deg", stands.off_dead_rad
    who = f"the {stands.piece} of `{stands.part}`" if stands.piece else f"`{stands.part}`"
    verb = "stand" if stands.piece == "links" else "stands"
    dead = f", only {degrees(off):.0f} deg from its dead centre" if off is not None and off < NEAR_RAD else ""
    return f"weakest {place}, where {who} {verb} at {angle}{dead}"


def helped(one: Moved, toward: Toward, wanted: float) -> Iterator[str]:
    """What else would leave so much of the push, each by itself."""
    described = one.strokes[toward].described
    spring = spring_for(described, toward, wanted, _units(one))
    if spring is not None:
        yield _spring(spring)
    pin = pin_for(described, toward, wanted)
    if pin is not None:
        yield _pin(pin)


def _spring(spring: SpringHelp) -> str:
    preload = "" if spring.preload.si == 0 else f", preload {spring.preload}"
    return f"a spring on it with `rate {spring.rate}{preload}, pushes {spring.pushes}`"


def _pin(pin: PinHelp) -> str:
    stroke = "" if pin.stroke is None else f" and `stroke {pin.stroke}`"
    return f"`rod {pin.rod_at} from the pivot` of `{pin.part}`{stroke}"


def _units(one: Moved) -> tuple[Unit, Unit]:
    """Force and stiffness in pounds for those who set their regulator in psi, else in newtons, as `say_force`."""
    pounds = one.regulator is not None and one.regulator.unit.symbol == "psi"
    return (UNITS["lbf"], UNITS["lbf/in"]) if pounds else (UNITS["N"], UNITS["N/mm"])
