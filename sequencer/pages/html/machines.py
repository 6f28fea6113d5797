"""Cylinders and what they drive -> figures to scale: barrels, rods, levers, scissors, four-bars, slides, ropes.

Lengths and angles are those of the rig; where each pin is follows from the same linkages that the air room computes
with. What the rig does not say (wall thickness, where a barrel is held) is drawn as is usual and carries no number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from sequencer.air.mechanism.build import mechanism_of
from sequencer.air.mechanism.fourbar import SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Impossible, Linkage
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import OutsideSpring
from sequencer.air.mechanism.swing import Swing
from sequencer.pages.html.figure import POSES, Body, Figure, Place, Pose, Stroke
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.slide import Slide
from sequencer.show import Show

SLIM = 6
"""A barrel is drawn at least a sixth as wide as long, or small ones could not be made out; its length is to scale."""
DRIVEN = ("slide", "lever", "scissor", "fourbar", "rope", "spring")


def figures_of(show: Show, cylinder: Cylinder) -> tuple[Figure, ...]:
    """A drawing for each linkage that the cylinder drives, in the order of the text, the cylinder and its springs in
    each of them, since where on its rod two linkages meet is not said; or one of the cylinder by itself, at its own
    angle."""
    parts = [placed.part for placed in show.of_kind(*DRIVEN) if getattr(placed.part, "cylinder", "") == cylinder.name]
    built = mechanism_of(cylinder, parts)  # type: ignore[arg-type]
    pieces: dict[str, Linkage] = {}
    if not isinstance(built, Impossible):
        pieces = dict(zip(built.names, built.pieces, strict=True))
    springs = sum(isinstance(piece, OutsideSpring) for piece in pieces.values())
    found = []
    for part in parts:
        piece = pieces.get(part.name)
        if type(piece) in MAKERS:
            bodies = MAKERS[type(piece)](piece, cylinder, springs)
        elif isinstance(part, Slide):
            bodies = straight(cylinder, springs, part)
        else:
            continue
        found.append(Figure(cylinder.name, tuple(bodies), _says(cylinder, part), _drives(part)))
    return tuple(found) or (Figure(cylinder.name, tuple(straight(cylinder, springs, None)), _says(cylinder, None)),)


def _drives(part: Part) -> str:
    """The linkage in a word, and its name within its prop."""
    return f"{part.article} {part.kind}, {part.name.rpartition('.')[2]}"


def _says(cylinder: Cylinder, part: Part | None) -> str:
    acting = f"{cylinder.acting}-acting cylinder, bore {cylinder.bore}, stroke {cylinder.stroke}"
    return f"{cylinder.called}: {acting}" + (f", drives {part.article} {part.kind}, {part.called}" if part else "")


def fractions() -> Sequence[float]:
    """The places of the rod for which there is a pose."""
    return [number / POSES for number in range(POSES + 1)]


# The cylinder itself, along the x axis of its own frame


def barrel(length: float, bore: float, single: bool) -> tuple[Stroke, ...]:
    """A tube from `gap` behind the pin on, its two ports (one port and a vent where single-acting)."""
    wide = max(bore, length / SLIM) / 2
    ports = [((length * 0.08, wide), (length * 0.08, wide * 1.7))]
    if not single:
        ports.append(((length * 0.92, wide), (length * 0.92, wide * 1.7)))
    body = ((0.0, -wide), (length, -wide), (length, wide), (0.0, wide))
    return Stroke(body, "barrel", "area"), *(Stroke(port, "port") for port in ports)


def rod(length: float, bore: float, barrel_m: float) -> tuple[Stroke, ...]:
    """A piston at the origin and the rod from it to `length`."""
    wide = max(bore, barrel_m / SLIM) / 2 * 0.86
    thick = barrel_m * 0.05
    piston = ((-thick, -wide), (thick, -wide), (thick, wide), (-thick, wide))
    return Stroke(((0.0, 0.0), (length, 0.0)), "rod"), Stroke(piston, "piston", "area")


def pin(size: float) -> Stroke:
    return Stroke(((0.0, 0.0),), "pin", "circle", size)


def straight(cylinder: Cylinder, springs: int, slide: Slide | None) -> list[Body]:
    """Barrel, piston and rod at the angle that the cylinder lifts; a block where it moves something."""
    stroke, bore = cylinder.stroke.si, cylinder.bore.si
    angle = slide.rises.si if slide is not None else cylinder.lifts.si
    tube = stroke * 1.16
    wide = max(bore, tube / SLIM)
    turned = (0.0, 0.0, angle, 1.0)
    fixed = [*barrel(tube, bore, cylinder.acting == "single"), *_ground(wide)]
    single = cylinder.acting == "single" and cylinder.returned_by == "spring"
    moving = list(rod(tube, bore, tube))
    size = max(stroke * 0.16, wide * 0.8)
    if cylinder.moves is not None or slide is not None:
        block = ((tube, -size), (tube + size * 1.2, -size), (tube + size * 1.2, size), (tube, size))
        moving.append(Stroke(block, "load", "area"))
    else:
        moving.append(Stroke(((tube, -wide * 0.6), (tube, wide * 0.6)), "rod"))
    if slide is not None:
        guide = -size * 1.25
        fixed.append(Stroke(((tube * 1.02, guide), (tube + stroke + size * 1.4, guide)), "ground"))
    bodies = [Body(tuple(fixed), (turned,)), Body(tuple(moving), _along(tube * 0.08, stroke, angle))]
    if single:
        bodies.append(_stretching((tube * 0.08, 0.0), stroke * 1.08, -stroke, angle))
    for number in range(springs):
        side = wide * (1.2 + 0.8 * number)
        bodies.append(_stretching((0.0, -side), tube * 1.0, stroke, angle, starts=0.0))
    return bodies


def _along(begin: float, stroke: float, angle: float) -> tuple[Pose, Pose]:
    cos, sin = math.cos(angle), math.sin(angle)
    return (begin * cos, begin * sin, angle, 1.0), ((begin + stroke) * cos, (begin + stroke) * sin, angle, 1.0)


def _stretching(at: Place, home: float, grows: float, angle: float, starts: float | None = None) -> Body:
    """A spring. With `starts` it is held there and its far end goes with the rod; else its near end does."""
    cos, sin = math.cos(angle), math.sin(angle)

    def pose(fraction: float) -> Pose:
        length = home + grows * fraction
        x = at[0] if starts is not None else at[0] - grows * fraction
        return x * cos - at[1] * sin, x * sin + at[1] * cos, angle, length / home

    return Body((Stroke(((0.0, 0.0), (home, 0.0)), "spring", "zigzag"),), (pose(0.0), pose(1.0)))


def _ground(wide: float) -> tuple[Stroke, ...]:
    """Hatching behind a barrel that is held at its end."""
    back = -wide * 0.25
    lines = [Stroke(((0.0, 0.0), (back, 0.0)), "ground"), Stroke(((back, -wide), (back, wide)), "ground")]
    for part in range(4):
        y = -wide + wide * 2 * part / 4
        lines.append(Stroke(((back, y + wide * 0.5), (back * 2, y)), "hatch"))
    return tuple(lines)


def between_pins(swing_base: Place, ends: Sequence[Place], cylinder: Cylinder, springs: int) -> list[Body]:
    """A cylinder that is pinned at both ends and turns with them, its springs beside it; `ends` are the places of the
    rod's pin."""
    lengths = [math.dist(swing_base, end) for end in ends]
    angles = [math.atan2(end[1] - swing_base[1], end[0] - swing_base[0]) for end in ends]
    stroke, bore = cylinder.stroke.si, cylinder.bore.si
    home = min(lengths[0], lengths[-1])
    tube = min(home * 0.94, max(stroke * 1.16, home * 0.6))
    reach = home - tube * 0.08
    size = max(bore, tube / SLIM) * 0.22
    held = tuple((*swing_base, angle, 1.0) for angle in angles)
    carried = tuple(
        (end[0] - reach * math.cos(angle), end[1] - reach * math.sin(angle), angle, 1.0)
        for end, angle in zip(ends, angles, strict=True)
    )
    beside = [max(bore, tube / SLIM) * (1.2 + 0.8 * number) for number in range(springs)]
    stretched = tuple((*swing_base, angle, length / home) for angle, length in zip(angles, lengths, strict=True))
    return [
        Body((*barrel(tube, bore, cylinder.acting == "single"), pin(size)), held),
        Body((*rod(reach, bore, tube), Stroke(((reach, 0.0),), "pin", "circle", size)), carried),
        *(Body((Stroke(((0.0, -side), (home, -side)), "spring", "zigzag"),), stretched) for side in beside),
    ]


def _bar(length: float, kind: str = "bar") -> Stroke:
    return Stroke(((0.0, 0.0), (length, 0.0)), kind)


def _weight(at: float, size: float) -> Stroke:
    return Stroke(((at, 0.0),), "load", "circle", size)


def _pivot(size: float) -> tuple[Stroke, ...]:
    """The sign of a fixed pivot: a triangle over hatched ground."""
    half, deep = size * 1.4, size * 2.2
    feet = Stroke(((-half, -deep), (0.0, 0.0), (half, -deep)), "ground", "area")
    return feet, Stroke(((-half * 1.5, -deep), (half * 1.5, -deep)), "ground"), pin(size * 0.7)


def _rod_pins(swing: Swing, stroke: float) -> tuple[list[float], list[Place]]:
    """The arm's angles and the places of the rod's pin, for each place of the rod."""
    angles = [swing.turn_at(fraction * stroke)[0] for fraction in fractions()]
    return angles, [(swing.rod_at_m * math.cos(angle), swing.rod_at_m * math.sin(angle)) for angle in angles]


def _base(swing: Swing) -> Place:
    return swing.base_at_m * math.cos(swing.base_rad), swing.base_at_m * math.sin(swing.base_rad)


def lever(piece: SwungArm, cylinder: Cylinder, springs: int) -> list[Body]:
    angles, pins = _rod_pins(piece.swing, cylinder.stroke.si)
    size = max(piece.arm_m, piece.swing.rod_at_m) * 0.05
    arm = Body((_bar(max(piece.arm_m, piece.swing.rod_at_m)), _weight(piece.arm_m, size * 1.6)),
               tuple((0.0, 0.0, angle, 1.0) for angle in angles))
    base = _base(piece.swing)
    foot = Body(_pivot(size * 0.8), ((*base, 0.0, 1.0),))
    return [Body(_pivot(size)), foot, arm, *between_pins(base, pins, cylinder, springs)]


def fourbar(piece: SwungBars, cylinder: Cylinder, springs: int) -> list[Body]:
    angles, pins = _rod_pins(piece.swing, cylinder.stroke.si)
    bars = piece.bars
    size = max(bars.ground_m, bars.crank_m, bars.rocker_m) * 0.05
    joints = [(bars.crank_m * math.cos(angle), bars.crank_m * math.sin(angle)) for angle in angles]
    rockers = [bars.rocker_at(angle)[:2] for angle in angles]
    tips = [(bars.ground_m + bars.rocker_m * cos, bars.rocker_m * sin) for cos, sin in rockers]
    crank = Body((_bar(max(bars.crank_m, piece.swing.rod_at_m)),), tuple((0.0, 0.0, angle, 1.0) for angle in angles))
    coupler = Body((_bar(bars.coupler_m), pin(size * 0.5)), tuple(
        (*joint, math.atan2(tip[1] - joint[1], tip[0] - joint[0]), 1.0)
        for joint, tip in zip(joints, tips, strict=True)
    ))  # fmt: skip
    rocker = Body((_bar(bars.rocker_m), _weight(bars.rocker_m, size * 1.6)), tuple(
        (bars.ground_m, 0.0, math.atan2(sin, cos), 1.0) for cos, sin in rockers
    ))  # fmt: skip
    base = _base(piece.swing)
    grounds = [Body(_pivot(size)), Body(_pivot(size), ((bars.ground_m, 0.0, 0.0, 1.0),)),
               Body(_pivot(size * 0.8), ((*base, 0.0, 1.0),))]
    return [*grounds, crank, coupler, rocker, *between_pins(base, pins, cylinder, springs)]


def scissor(piece: ScissorStack, cylinder: Cylinder, springs: int) -> list[Body]:
    """One joint of the base is fixed, the other slides; the top stays level."""
    turns = [piece.turn_at(fraction * cylinder.stroke.si) for fraction in fractions()]
    link, stages = piece.link_m, piece.stages
    size = link * 0.03
    bodies = []
    for stage in range(stages):
        for rising in (True, False):
            poses = tuple(
                (0.0 if rising else link * cos, stage * link * sin,
                 math.atan2(sin, cos) if rising else math.pi - math.atan2(sin, cos), 1.0)
                for cos, sin, _ in turns
            )  # fmt: skip
            bodies.append(Body((_bar(link), pin(size)), poses))
    wide = link * max(cos for cos, _, _ in turns)
    top = Stroke(((-wide * 0.05, 0.0), (wide * 1.05, 0.0), (wide * 1.05, size * 2), (-wide * 0.05, size * 2)),
                 "load", "area")
    bodies.append(Body((top,), tuple((0.0, stages * link * sin + size, 0.0, 1.0) for _, sin, _ in turns)))
    slides = [(link * cos, 0.0) for cos, _, _ in turns]
    closes = slides[-1][0] < slides[0][0]
    far = max(x for x, _ in slides) + cylinder.stroke.si * 1.5
    base = (far, 0.0) if closes else (min(x for x, _ in slides) - cylinder.stroke.si * 1.5, 0.0)
    left, right = min(base[0], -wide * 0.1), max(base[0], wide * 1.1)
    floor = Body((Stroke(((left, -size * 1.6), (right, -size * 1.6)), "ground"),))
    return [floor, Body(_pivot(size * 1.4)), *bodies, *between_pins(base, slides, cylinder, springs)]


def rope(piece: RopeLift, cylinder: Cylinder, springs: int) -> list[Body]:
    """A level cylinder, a pulley above the load, the rope from the rod over it; more parts of rope are only told.

    A rod that pulls while it goes out points away from the pulley, and the rope passes over its barrel.
    """
    stroke, bore = cylinder.stroke.si, cylinder.bore.si
    lifts = [piece.lifted_at(fraction * stroke)[0] for fraction in fractions()]
    high, tube, size = max(lifts) * 1.25 + stroke * 0.5, stroke * 1.16, stroke * 0.12
    wide = max(bore, tube / SLIM)
    away = piece.pulls_out
    beyond = tube + stroke * (1.6 if away else 1.35)
    low = high - (wide if away else 0.0)
    foot, angle, way = (beyond - stroke * 0.2, math.pi, -1.0) if away else (0.0, 0.0, 1.0)
    begins = [foot + way * (tube * 0.08 + stroke * fraction) for fraction in fractions()]
    fixed = (*barrel(tube, bore, cylinder.acting == "single"), *_ground(wide))
    moving = (*rod(tube, bore, tube), Stroke(((tube, 0.0), (tube, low - high)), "rod"))
    hooks = [begin + way * tube for begin in begins]
    beside = [wide * (1.2 + 0.8 * number) for number in range(springs)]
    hangs = beyond + size
    block = Stroke(((-size, 0.0), (size, 0.0), (size, size * 2), (-size, size * 2)), "load", "area")
    return [
        Body(fixed, ((foot, low, angle, 1.0),)),
        Body(moving, tuple((begin, low, angle, 1.0) for begin in begins)),
        Body((Stroke(((0.0, 0.0),), "barrel", "circle", size),), ((beyond, high - size, 0.0, 1.0),)),
        Body((_bar(1.0, "rope"),), tuple((hook, high, 0.0, beyond - hook) for hook in hooks)),
        Body((_bar(1.0, "rope"),), tuple(
            (hangs, high - size, -math.pi / 2, max(high - size * 3 - lift, 1e-3)) for lift in lifts)),
        Body((block,), tuple((hangs, lift, 0.0, 1.0) for lift in lifts)),
        *(Body((_coil(side),), tuple((foot, low, angle, way * (hook - foot)) for hook in hooks)) for side in beside),
    ]


def _coil(side: float) -> Stroke:
    """A spring of length 1 beside the x axis."""
    return Stroke(((0.0, -side), (1.0, -side)), "spring", "zigzag")


MAKERS: dict[type, Callable[..., list[Body]]] = {
    SwungArm: lever, SwungBars: fourbar, ScissorStack: scissor, RopeLift: rope,
}
"""What draws each linkage; a slide and a load on the rod itself are drawn straight."""
