"""Parts of the rig -> the mechanism they make on their cylinder, or the reason why they can make none.

What an author wrote wrong comes back as a value, `Impossible`, in the author's units. How it is shown, and how hard the
cylinder pushes, is left to others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from sequencer.air.bare import rod_mass_kg
from sequencer.air.mechanism.linkage import Impossible, Linkage, Remark
from sequencer.air.mechanism.mechanism import Mechanism, together
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad, guide_friction_n
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.units import say

if TYPE_CHECKING:
    from sequencer.air.mechanism.fourbar import Bars
    from sequencer.air.mechanism.scissor import ScissorStack
    from sequencer.air.mechanism.swing import Swing
    from sequencer.rig.fourbar import Fourbar
    from sequencer.rig.lever import Lever
    from sequencer.rig.rope import Rope
    from sequencer.rig.scissor import Scissor
    from sequencer.rig.slide import Slide
    from sequencer.rig.spring import Spring

STROKE_SLACK = 0.01
"""A swing and a stroke that agree to a hundredth were meant to agree: tape measures. Common practice, no source."""

Built = Mechanism | Impossible


def mechanism_of(cylinder: Cylinder, parts: Iterable[Part]) -> Built:
    """All that one cylinder drives: what it `moves` itself, and each of the parts, which must be on this cylinder.

    The first thing that is impossible is returned. Ropes come last, since one that pulls homeward is straight where
    the others stand with the rod out. Raises ValueError for a part on another cylinder.
    """
    wanted = sorted(parts, key=lambda part: part.kind == "rope")
    found = of_rod(cylinder)
    for part in wanted:
        on = getattr(part, "cylinder", None)
        if on != cylinder.name:
            raise ValueError(f"{part.name} is on {on}, not on {cylinder.name}")
        more = (found.out_m,) if part.kind == "rope" else ()
        built = MAKERS[part.kind](part, cylinder, *more)
        if isinstance(built, Impossible):
            return built
        found = together(found, built)
    return found


def of_rod(cylinder: Cylinder) -> Mechanism:
    """What the cylinder `moves` straight along at its own angle; where that is not said, its own rod and piston.

    >>> from sequencer.units import read_quantity as q
    >>> ram = Cylinder(name="ram", valve="v", bore=q("32 mm"), rod=q("12 mm"), stroke=q("200 mm"), moves=q("2 kg"))
    >>> of_rod(ram).load_at(0.1, 0.0)
    (2.0, 0.0, 0.0)
    """
    mass = rod_mass_kg(cylinder) if cylinder.moves is None else cylinder.moves.si
    return _alone(StraightLoad(mass, cylinder.lifts.si), cylinder, cylinder)


def of_slide(part: Slide, cylinder: Cylinder) -> Mechanism:
    """A slide goes as far as the rod, so nothing about it is impossible."""
    mass, angle = part.carries.si, part.rises.si
    rubs = guide_friction_n(mass, angle, part.rubs.si, part.drag.si)
    return _alone(StraightLoad(mass, angle, rubs), part, cylinder)


def of_spring(part: Spring, cylinder: Cylinder) -> Mechanism:
    return _alone(OutsideSpring(part.rate.si, part.preload.si, part.pushes == "home"), part, cylinder)


def of_lever(part: Lever, cylinder: Cylinder) -> Built:
    from sequencer.air.mechanism.lever import SwungArm

    swing = _swing_of(part)
    arm = SwungArm(swing, part.arm.si, part.carries.si, part.arm_mass.si, part.drag.si)
    return _does_not_swing(part, swing, cylinder) or _ending(arm, part, cylinder)


def of_fourbar(part: Fourbar, cylinder: Cylinder) -> Built:
    """The bars are taken as put together uncrossed, since the rig does not say."""
    from sequencer.air.mechanism.fourbar import Bars, SwungBars, uncrossed_side

    swing = _swing_of(part)
    side = uncrossed_side(part.start.si, part.end.si)
    bars = Bars(part.ground.si, part.crank.si, part.coupler.si, part.rocker.si, side)
    wrong = _does_not_swing(part, swing, cylinder) or _does_not_close(part, bars)
    return wrong or _ending(SwungBars(swing, bars, part.carries.si), part, cylinder)


def of_scissor(part: Scissor, cylinder: Cylinder) -> Built:
    return _ending(_stack_of(part), part, cylinder)


def of_rope(part: Rope, cylinder: Cylinder, out_m: float | None = None) -> Built:
    """`out_m` is how far out the rod goes, where something stops it before its stroke (None: nothing does)."""
    from sequencer.air.mechanism.rope import RopeLift

    out = cylinder.stroke.si if out_m is None else out_m
    pulled = part.times * out
    if pulled > part.length.si:
        return Impossible(part.name, "length", (
            f"`{part.name}` pulls in {say(pulled, part.length)} of rope, {part.times} times the "
            f"{say(out, cylinder.stroke)} of `{cylinder.name}`, and is only {part.length} long; a longer rope or a "
            f"shorter stroke mends it"))
    stretch = part.stretch.si * part.length.si
    rope = RopeLift(part.carries.si, part.times, out, part.pulls == "extending", stretch, 1 - part.efficiency)
    if rope.lifted_at(out if rope.pulls_out else 0.0)[0] <= 0 or pulled <= 2 * stretch:
        return Impossible(part.name, "stretch", (
            f"`{part.name}` stretches by {say(stretch, part.length)} before it lifts all of its load, and "
            f"`{cylinder.name}` pulls in only {say(pulled, part.length)}; take a rope that gives less"))
    return _alone(rope, part, cylinder)


MAKERS: dict[str, Callable[..., Built]] = {
    "slide": of_slide, "lever": of_lever, "scissor": of_scissor, "fourbar": of_fourbar, "rope": of_rope,
    "spring": of_spring,
}
"""What makes a mechanism of each kind of part that a cylinder can drive. A linkage is loaded when it is asked for: few
shows have them all."""


def _swing_of(part: Lever | Fourbar) -> Swing:
    from sequencer.air.mechanism.swing import Swing

    return Swing(part.rod_at.si, part.base_at.si, part.base_angle.si, part.start.si, part.end.si)


def _stack_of(part: Scissor) -> ScissorStack:
    from sequencer.air.mechanism.scissor import ScissorStack

    return ScissorStack(part.stages, part.link.si, part.start.si, part.end.si, part.carries.si, part.own_mass.si)


def way_of_swings_m(parts: Iterable[Part]) -> float | None:
    """How much rod the parts take that turn from a start to an end, the one that takes most; None where none does.

    Below 0 for a swing that the rod would have to make by going in.
    """
    swings = (_swing_of(part) if part.kind in ("lever", "fourbar") else _stack_of(part)  # type: ignore[arg-type]
              for part in parts if part.kind in ("lever", "fourbar", "scissor"))
    return max((swing.out_m for swing in swings), default=None)


def _alone(linkage: Linkage, part: Part, cylinder: Cylinder, remarks: tuple[Remark, ...] = ()) -> Mechanism:
    return Mechanism((linkage,), (part.name,), cylinder.stroke.si, remarks)


def _does_not_swing(part: Lever | Fourbar, swing: Swing, cylinder: Cylinder) -> Impossible | None:
    from sequencer.air.mechanism.swing import dead_centre_rad

    dead = dead_centre_rad(swing)
    if dead is not None:
        return Impossible(part.name, "base_angle", (
            f"`{part.name}` swings from {part.start} to {part.end}, and at {say(dead, part.start)} its pivot, the "
            f"rod's pin and the cylinder's pin stand in one line, where no push turns it; keep the swing more than "
            f"0.5 deg to one side of that, or move the cylinder's pin"))
    if swing.out_m <= 0:
        return Impossible(part.name, "start", (
            f"`{part.name}` at {part.end} would need a rod {say(-swing.out_m, part.rod_at)} further in than at "
            f"{part.start}, and a rod that goes out gets longer; write the swing the other way round"))
    if swing.home_m < cylinder.stroke.si:
        return Impossible(part.name, "base_at", (
            f"`{part.name}` has its cylinder's pins {say(swing.home_m, part.base_at)} apart with the rod home, and "
            f"`{cylinder.name}` with a stroke of {cylinder.stroke} is longer than that closed; move its pin away"))
    return None


def _does_not_close(part: Fourbar, bars: Bars) -> Impossible | None:
    from sequencer.air.mechanism.fourbar import does_not_close_at

    angle = does_not_close_at(bars, part.start.si, part.end.si)
    if angle is None:
        return None
    least, most = abs(bars.coupler_m - bars.rocker_m), bars.coupler_m + bars.rocker_m
    gap, low, high = (say(length, part.coupler) for length in (bars.gap_m(angle), least, most))
    return Impossible(part.name, "coupler", (
        f"`{part.name}` with its crank at {say(angle, part.start)} has {gap} for coupler and rocker to span; they span "
        f"{low} to {high} and stick at either end of that, so change a bar or keep the swing away from there"))


def _ending(linkage: Linkage, part: Lever | Fourbar | Scissor, cylinder: Cylinder) -> Built:
    """The stroke against what the swing takes of it: too short is impossible, too long needs a stop."""
    stroke, used = cylinder.stroke.si, linkage.out_m
    takes = say(used, cylinder.stroke)
    if used > stroke * (1 + STROKE_SLACK):
        there = _angle_at(linkage, stroke)
        return Impossible(part.name, "end", (
            f"`{part.name}` takes {takes} of rod from {part.start} to {part.end}, and `{cylinder.name}` has a stroke "
            f"of {cylinder.stroke}, which takes it to {say(there, part.end)}; take a longer one or a smaller swing"))
    if used >= stroke * (1 - STROKE_SLACK):
        return _alone(linkage, part, cylinder)
    return _alone(linkage, part, cylinder, (Remark(part.name, "end", (
        f"`{part.name}` stands at its end, {part.end}, with `{cylinder.name}` {takes} out of {cylinder.stroke}; "
        f"something strong has to stop it there, or the cylinder drives it on")),))


def _angle_at(linkage: Linkage, x_m: float) -> float:
    """The angle an author gave start and end in: that of the arm, the crank or the links."""
    swing: Swing | None = getattr(linkage, "swing", None)
    if swing is not None:
        return swing.turn_at(x_m)[0]
    cosine, sine, _ = linkage.turn_at(x_m)  # type: ignore[attr-defined]
    return math.atan2(sine, cosine)
