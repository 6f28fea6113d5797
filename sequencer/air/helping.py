"""A cylinder that has too little of its push left -> the spring, or the other attachment, that would leave enough.

Both are found for the weakest place on the way and then looked at all along it, and on the way back, where a spring
that helps has to be overcome. Pressure and bore are other answers, left to the checks.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

from sequencer.air.cylinder import CylinderAir
from sequencer.air.from_rig import Described, Toward, cylinder_air, mechanism_on, unknowns_of
from sequencer.air.margin import margin_of
from sequencer.air.mechanism.build import STROKE_SLACK
from sequencer.air.mechanism.fourbar import SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.mechanism import Mechanism, together
from sequencer.air.mechanism.straight import OutsideSpring
from sequencer.air.mechanism.weakest import what_helps
from sequencer.frozen import frozen
from sequencer.units import Quantity, Unit, rounded

LETS_GO = 1.0, 0.5, 0.25
"""By how much of its greatest force a spring slackens over the way: those that are tried, the softest last."""
MOST_N, MOST_N_M = 2000.0, 200e3
"""Springs beyond what the rig takes for one (`rig.spring`)."""
HALVINGS = 24


@frozen
class SpringHelp:
    """A spring on the rod, as the rig says one: rate, force with the rod home, and the way that it pushes."""

    rate: Quantity
    preload: Quantity
    pushes: Toward


@frozen
class PinHelp:
    """The rod pinned elsewhere on the arm or crank of `part`; the same swing then takes `stroke` of the rod, None where
    that is the stroke there is."""

    part: str
    rod_at: Quantity
    stroke: Quantity | None


@frozen
class Standing:
    """Where a part that turns stands: the angle that its author gives, and how far that is from the nearest dead
    centre (None for what has none). `piece` is what turns, where it is not the part as a whole."""

    part: str
    piece: str
    angle_rad: float
    off_dead_rad: float | None


def standing_at(described: Described, share: float) -> Standing | None:
    """How the first turning part on the rod stands with the rod at a share of its way; None where nothing turns."""
    mechanism = mechanism_on(described)
    if mechanism is None:
        return None
    x = share * mechanism.out_m
    for piece, name in zip(mechanism.pieces, mechanism.names, strict=True):
        swing = getattr(piece, "swing", None)
        if swing is not None:
            angle = swing.turn_at(x)[0]
            off = (angle - swing.base_rad) % pi
            return Standing(name, "crank" if isinstance(piece, SwungBars) else "", angle, min(off, pi - off))
        if hasattr(piece, "link_m"):
            return Standing(name, "links", piece.end_at(x).angle_rad, None)  # type: ignore[union-attr]
    return None


def spring_for(described: Described, toward: Toward, wanted: float, units: tuple[Unit, Unit]) -> SpringHelp | None:
    """The weakest spring that leaves `wanted` of the push on the way `toward`, and on the way back no less than there
    is or `wanted`. `units`: of force and of stiffness, to three figures of which it is rounded up.

    None where no spring does that, or where only the air is missing.
    """
    cylinder = _plain(described)
    return next((found for slackens in LETS_GO
                 if (found := _spring(cylinder, toward, wanted, slackens, units)) is not None), None)


def pin_for(described: Described, toward: Toward, wanted: float) -> PinHelp | None:
    """The nearest attachment of the rod on an arm or a crank that leaves so much both ways; None where none does."""
    cylinder, mechanism = _plain(described), mechanism_on(described)
    if mechanism is None:
        return None
    held = cylinder.friction.static_n + max(-_own_n(cylinder, toward), 0.0)
    push = _air_n(cylinder, toward) - held / (1 - wanted)
    found = what_helps(mechanism, push, wanted, toward).attachment if push > 0 else None
    if found is None:
        return None
    part = next(part for part in described.drives if part.name == found.part)
    like: Quantity = part.rod_at  # type: ignore[attr-defined]
    for further in (0.0, 0.01, 0.02):
        moved = found.rod_at_m * (1 + further if found.rod_at_m > like.si else 1 - further)
        help_ = _pinned(mechanism, found.part, rounded(moved, like, up=moved > like.si), described)
        if help_ is not None and _leaves_enough(_plain(with_pin(described, help_)), cylinder, toward, wanted):
            return help_
    return None


def with_spring(described: Described, spring: SpringHelp) -> Described:
    """The same with that spring on it."""
    from sequencer.rig.spring import Spring

    part = Spring(name="assist", cylinder=described.cylinder.name, rate=spring.rate, preload=spring.preload,
                  pushes=spring.pushes)
    return replace(described, drives=(*described.drives, part))


def with_pin(described: Described, pin: PinHelp) -> Described:
    """The same with the rod pinned there and, where it takes another, that stroke."""
    drives = tuple(part.model_copy(update={"rod_at": pin.rod_at}) if part.name == pin.part else part
                   for part in described.drives)
    cylinder = described.cylinder if pin.stroke is None else described.cylinder.model_copy(
        update={"stroke": pin.stroke})
    return replace(described, drives=drives, cylinder=cylinder)


def _spring(cylinder: CylinderAir, toward: Toward, wanted: float, slackens: float, units: tuple[Unit, Unit]
            ) -> SpringHelp | None:
    way = cylinder.ends_m[1]

    def made(most_n: float) -> tuple[float, float]:
        """Rate and preload of one whose greatest force is that."""
        return slackens * most_n / way, most_n if toward == "out" else (1 - slackens) * most_n

    def leaves(most_n: float) -> bool:
        return margin_of(_with(cylinder, *made(most_n), toward), toward).share >= wanted

    low, high = 0.0, MOST_N
    if not leaves(high):
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if leaves(middle) else (middle, high)
    rate, preload = made(high)
    force, stiffness = units
    # One that pushes out loses force by its rate, one that pushes home gains it.
    told = SpringHelp(rounded(rate, stiffness, up=toward == "home"), rounded(preload, force, up=True), toward)
    then = _with(cylinder, told.rate.si, told.preload.si, toward)
    fits = told.rate.si <= MOST_N_M and told.preload.si <= MOST_N
    return told if fits and _leaves_enough(then, cylinder, toward, wanted) else None


def _leaves_enough(then: CylinderAir, now: CylinderAir, toward: Toward, wanted: float) -> bool:
    """Both ways; on the way back what is there already is enough."""
    back: Toward = "home" if toward == "out" else "out"
    return (margin_of(then, toward).share >= wanted
            and margin_of(then, back).share >= min(margin_of(now, back).share, wanted))


def _pinned(mechanism: Mechanism, part: str, rod_at: Quantity, described: Described) -> PinHelp | None:
    piece = mechanism.pieces[mechanism.names.index(part)]
    assert isinstance(piece, SwungArm | SwungBars)
    used, stroke = piece.with_rod_at(rod_at.si).out_m, described.cylinder.stroke
    if abs(used / stroke.si - 1) <= STROKE_SLACK:
        return PinHelp(part, rod_at, None)
    return PinHelp(part, rod_at, rounded(used, stroke, up=True))


def _with(cylinder: CylinderAir, rate_n_m: float, preload_n: float, toward: Toward) -> CylinderAir:
    spring = Mechanism((OutsideSpring(rate_n_m, preload_n, toward == "home"),), ("assist",), cylinder.stroke_m)
    return replace(cylinder, drives=spring if cylinder.drives is None else together(cylinder.drives, spring))


def _plain(described: Described) -> CylinderAir:
    return cylinder_air(described, unknowns_of(described.cylinder), "out")


def _air_n(cylinder: CylinderAir, toward: Toward) -> float:
    port = cylinder.cap if toward == "out" else cylinder.rod
    return 0.0 if port.open else (cylinder.supply_pa - cylinder.ambient_pa) * port.area_m2


def _own_n(cylinder: CylinderAir, toward: Toward) -> float:
    """What weight and spring of the cylinder itself push the way it goes, where that is least."""
    low, high = cylinder.ends_m
    sign = 1.0 if toward == "out" else -1.0
    return min(sign * (cylinder.load.steady_n() + cylinder.load.rate_n_m * x) for x in (low, high))

