"""Where every mass of a linkage is, found from the lengths of its bars alone, and what follows by virtual work.

Shares nothing with the package but the figures of a linkage: places are complex numbers, right + i up, found by
bracketed root finding on the lengths; bars are two masses at the points of Gauss, which is exact for a rigid bar. The
effective mass is twice the energy by finite differences of the places, the load the slope of the potential.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq

from sequencer.air.mechanism.fourbar import SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import StraightLoad
from sequencer.air.mechanism.swing import Swing

G = 9.80665
GAUSS = (0.5 - math.sqrt(1 / 12), 0.5 + math.sqrt(1 / 12))
"""Two points of a bar of length 1 with half its mass each have its first and second moments."""

Masses = list[tuple[float, complex]]


def arm_angle(swing: Swing, x: float) -> float:
    pin = swing.base_at_m * cmath.exp(1j * swing.base_rad)

    def length(angle: float) -> float:
        return abs(swing.rod_at_m * cmath.exp(1j * angle) - pin)

    wanted = length(swing.start_rad) + x
    return brentq(lambda angle: length(angle) - wanted, swing.start_rad, swing.end_rad, xtol=1e-15, rtol=1e-15)


def of_arm(arm: SwungArm, x: float) -> Masses:
    end = arm.arm_m * cmath.exp(1j * arm_angle(arm.swing, x))
    return [(arm.load_kg, end), *((arm.arm_kg / 2, part * end) for part in GAUSS)]


def of_bars(linkage: SwungBars, x: float) -> Masses:
    """The joint where a circle about the crank's end and one about the rocker's pivot meet, less that pivot."""
    bars = linkage.bars
    crank = bars.crank_m * cmath.exp(1j * arm_angle(linkage.swing, x))
    way = bars.ground_m - crank
    corner = math.acos((bars.coupler_m**2 + abs(way) ** 2 - bars.rocker_m**2) / (2 * bars.coupler_m * abs(way)))
    joint = crank + bars.coupler_m * cmath.exp(1j * (cmath.phase(way) + bars.side * corner))
    return [(linkage.load_kg, joint - bars.ground_m)]


def of_stack(stack: ScissorStack, x: float) -> Masses:
    """Stage upon stage, each link between its joints; the fixed side stands at 0, the other slides."""
    rises = 1 if stack.end_rad > stack.start_rad else -1
    base = stack.link_m * math.cos(stack.start_rad) - rises * x
    high = math.sqrt(stack.link_m**2 - base**2)
    masses: Masses = [(stack.load_kg, 1j * stack.stages * high)]
    each = stack.links_kg / (2 * stack.stages) / 2
    for stage in range(stack.stages):
        low_fixed, low_sliding = 1j * stage * high, base + 1j * stage * high
        for foot, head in ((low_fixed, low_sliding + 1j * high), (low_sliding, low_fixed + 1j * high)):
            masses += [(each, foot + part * (head - foot)) for part in GAUSS]
    return masses


def of_rope(rope: RopeLift, x: float) -> Masses:
    pulled = rope.times * (x if rope.pulls_out else rope.out_m - x)
    delta = rope.stretch_m
    height = pulled - delta if pulled >= 2 * delta else pulled**2 / (4 * delta)
    return [(rope.load_kg, 1j * height)]


def of_straight(load: StraightLoad, x: float) -> Masses:
    return [(load.mass_kg, x * cmath.exp(1j * load.rises_rad))]


PLACES: dict[type, Callable[..., Masses]] = {
    SwungArm: of_arm, SwungBars: of_bars, ScissorStack: of_stack, RopeLift: of_rope, StraightLoad: of_straight,
}


def masses_of(linkage: Linkage, x: float) -> Masses:
    return PLACES[type(linkage)](linkage, x)


def slope(function: Callable[[float], complex], x: float, step: float) -> complex:
    """Five points, error of the fourth order in the step."""
    return (
        8 * (function(x + step) - function(x - step)) - (function(x + 2 * step) - function(x - 2 * step))
    ) / (12 * step)


@dataclass(frozen=True)
class ByVirtualWork:
    """What the motion needs of a linkage at one x, by finite differences of places with a step."""

    linkage: Linkage
    step: float

    def mass(self, x: float) -> float:
        count = len(masses_of(self.linkage, x))
        slopes = (slope(lambda at, n=n: masses_of(self.linkage, at)[n][1], x, self.step) for n in range(count))
        return sum(kg * abs(s) ** 2 for (kg, _), s in zip(masses_of(self.linkage, x), slopes, strict=True))

    def half(self, x: float) -> float:
        return slope(self.mass, x, self.step).real / 2

    def potential(self, x: float) -> float:
        return sum(kg * G * place.imag for kg, place in masses_of(self.linkage, x))

    def load(self, x: float) -> float:
        return slope(self.potential, x, self.step).real
