"""The text of the loops of one make-up -> functions bound to the numbers of one cylinder.

A make-up is compiled once for each run of the program. `build(numbers)` gives a `Solver`: its loops, its rates (the
same that the loops use, for who wants to integrate them another way), and `connect`, which says what the valve
connects the ports to from now on.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from sequencer.air.equations import MakeUp
from sequencer.air.flow import BETA
from sequencer.air.gas import GAMMA, GAS_CONSTANT_J_KG_K, T_ANR_K
from sequencer.air.stepping import indent, loops_text
from sequencer.frozen import frozen

HALVINGS = 60
"""At most so many tries to find where in a step an event lies; some eight do."""
SHARP = 1e-12
"""How sharply an event is found, as a share of the step or of the change in it."""

PORT_NUMBERS = ("vd", "a", "h0", "h1", "kq", "cl", "cc", "ic")
"""Of one port: dead volume, area, heat to the wall (h0 + h1 V), R T0 / V of the tube, cushion length and its share,
1 / cracking pressure of a quick exhaust."""
WHOLE_NUMBERS = ("stroke", "low", "high", "im", "F0", "F1", "Fc", "dF", "B", "ivs2", "u_far", "ambient", "unit",
                 "longest", "pset")
MANIFOLD_NUMBERS = ("band", "ptank", "gr", "br", "kr", "lr", "kM")
WAY_NUMBERS = ("s", "fed", "gv", "bv", "kv", "lv", "gi", "bi", "ki", "li", "go", "bo", "ko", "lo")
"""What `connect` sets for each port, in this order: see `equations`."""

CONSTANTS = {"T0": T_ANR_K, "R": GAS_CONSTANT_J_KG_K, "gamma": GAMMA, "BETA": BETA, "GR": GAMMA * GAS_CONSTANT_J_KG_K,
             "GRT0": GAMMA * GAS_CONSTANT_J_KG_K * T_ANR_K}
"""They stand in the text as figures, which is quicker than as names."""
CONSTANT = re.compile(rf"\b({'|'.join(CONSTANTS)})\b")


@frozen
class Solver:
    """The functions of one cylinder. States are in the order of `MakeUp.gases`, after x and v where those run.

    slide(t, until, h, mode, x, v, *gases, note) and rest(t, until, h, x, up, down, settle, *gases, note) return
    (why, t, h, states...); moving(mode, x, v, *gases) and resting(x, *gases) return the rates.
    """

    slide: Callable[..., Any]
    rest: Callable[..., Any]
    moving: Callable[..., Any]
    resting: Callable[..., Any]
    connect: Callable[[tuple[Any, ...]], None]
    ramp: Callable[[float], None]
    """How fast the pressure before the valve changes from now on, in Pa/s; of a make-up that is given it."""


@lru_cache(maxsize=64)
def compiled(make_up: MakeUp) -> Callable[[Mapping[str, Any]], Solver]:
    """A function that binds the numbers of one cylinder to the equations of this make-up."""
    space: dict[str, Any] = {
        "sqrt": math.sqrt, "exp": math.exp, "inf": math.inf, "land": land, "pass_by": pass_by, "Solver": Solver,
    }
    exec(compile(source_text(make_up), f"<air of {make_up.cap} and {make_up.rod}>", "exec"), space)
    build: Callable[[Mapping[str, Any]], Solver] = space["build"]
    return build


def source_text(make_up: MakeUp) -> str:
    """The whole text that is compiled, to be read where a motion looks wrong."""
    letters = [letter for letter, _, _ in make_up.ports()]
    numbers = [*WHOLE_NUMBERS, *(MANIFOLD_NUMBERS if make_up.manifold else ()), *(("drive",) if make_up.driven else ())]
    numbers += [f"{name}{letter}" for letter in "AB" for name in PORT_NUMBERS]
    ways = [f"{name}{letter}" for letter in letters for name in WAY_NUMBERS]
    head = [f"{name} = numbers[{name!r}]" for name in numbers]
    head += [f"{' = '.join(ways)} = 0.0"]
    connect = f"def connect(ways):\n    nonlocal {', '.join(ways)}\n    {', '.join(ways)}, = ways\n"
    connect += "slope = 0.0\ndef ramp(value):\n    nonlocal slope\n    slope = value\n"
    last = "return Solver(slide, rest, moving, resting, connect, ramp)"
    text = "def build(numbers):\n" + indent("\n".join(head) + "\n" + connect + loops_text(make_up) + last)
    return CONSTANT.sub(lambda found: repr(CONSTANTS[found[0]]), text)


def land(mode: int, low: float, high: float, step: float, ends: tuple[float, ...]) -> tuple[str, float]:
    """What ends a slide within a step and how far into it: `hit` an end, or `stop` as v falls through 0.

    `ends` are x, v, dv at the beginning and at the end of the step.
    """
    x, v, dv, xn, vn, dvn = ends
    end, kind, share = (high if mode > 0 else low), "stop", 1.0
    if vn * mode <= 0:
        share = share_at((v, dv * step, vn, dvn * step), 0.0)
    if (xn - end) * mode >= 0:
        reached = share_at((x, v * step, xn, vn * step), end)
        if reached <= share:
            kind, share = "hit", reached
    return kind, max(share * step, 1e-12)


def pass_by(wanted: float, step: float, ends: tuple[float, float, float, float]) -> float:
    """How far into a step the force passes a value; `ends` are the force and its rate at the beginning and the end."""
    old, rate_old, new, rate_new = ends
    return max(share_at((old, rate_old * step, new, rate_new * step), wanted) * step, 1e-12)


def cubic(ends: tuple[float, float, float, float], s: float) -> float:
    """The cubic from a to b with slopes da and db at its ends (Hermite), at the share s; `ends` are a, da, b, db."""
    a, da, b, db = ends
    r = 1 - s
    return r * r * (a * (1 + 2 * s) + da * s) + s * s * (b * (1 + 2 * r) - db * r)


def cubic_slope(ends: tuple[float, float, float, float], s: float) -> float:
    """The slope of the same cubic by the share.

    >>> cubic_slope((0.0, 2.0, 1.0, 0.5), 0.0), cubic_slope((0.0, 2.0, 1.0, 0.5), 1.0)
    (2.0, 0.5)
    """
    a, da, b, db = ends
    r = 1 - s
    return 6 * s * r * (b - a) + r * (1 - 3 * s) * da + s * (3 * s - 2) * db


def share_at(ends: tuple[float, float, float, float], wanted: float) -> float:
    """Where the cubic passes a value that lies between its ends, as a share: false position with the Illinois rule.

    What starts at the value itself leaves it and comes back: then it is the return that counts, found by halving.
    """
    low, high, below, above = 0.0, 1.0, ends[0] - wanted, ends[2] - wanted
    if above == 0.0:
        return 1.0
    halving, side = below == 0.0, 0
    for _ in range(HALVINGS):
        middle = (low + high) / 2 if halving else (low * above - high * below) / (above - below)
        value = cubic(ends, middle) - wanted
        if value * above > 0.0:
            high, above = middle, value
            below, side = (below / 2, 1) if side == 1 else (below, 1)
        else:
            low, below = middle, value
            above, side = (above / 2, -1) if side == -1 else (above, -1)
        if high - low < SHARP or abs(value) < SHARP * abs(ends[2] - ends[0]):
            return middle
    return high
