"""A mechanism and the push of its rod -> where on the stroke the least is left over, and what would mend that.

Slow motion only: forces at rest with the friction of the linkage, none of inertia. The push is the caller's: pressure
times area less the cylinder's own friction. Which spring can be bought is left to others.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from sequencer.air.mechanism.fourbar import SwungBars, does_not_close_at
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.air.mechanism.swing import dead_centre_rad
from sequencer.frozen import frozen

Toward = Literal["out", "home"]
FINE, COARSE = 256, 48
FURTHEST = 4.0
"""Attachments up to four times as far from the pivot, or as near, are tried; beyond that it is another prop."""
TRIES = 48
"""Attachments tried each way, 3 % apart; the one found is then closed in on by halving."""


@frozen
class Weakest:
    """At `x_m` the load takes most of the push: `margin` = 1 - load / push; 0 just balances, below 0 stands still."""

    x_m: float
    margin: float
    load_n: float


@frozen
class Attachment:
    """The rod pinned `rod_at_m` from the pivot of `part`; the same swing then takes `stroke_m` of the rod."""

    part: str
    rod_at_m: float
    stroke_m: float


@frozen
class Help:
    """Either of the two mends the margin: a spring of `spring_n` along the rod at that place, or another attachment.

    A spring that helps one way has to be overcome on the way back: ask for `weakest` there too.
    """

    at: Weakest
    spring_n: float
    attachment: Attachment | None


def weakest(mechanism: Mechanism, push_n: float, toward: Toward = "out", places: int = FINE) -> Weakest:
    """The weakest place on the way `toward`, for a push of `push_n` that way. Raises ValueError unless it is above 0.

    >>> import math
    >>> from sequencer.air.mechanism.scissor import ScissorStack
    >>> stack = Mechanism((ScissorStack(1, 0.5, math.radians(30), math.radians(60), 3.0),), ("frame",), 0.2)
    >>> found = weakest(stack, 100.0)  # 3 kg / tan(30 deg) = 50.96 N, at the start
    >>> found.x_m, round(found.margin, 4)
    (0.0, 0.4904)
    """
    if not push_n > 0:
        raise ValueError(f"a push of {push_n} N has no margin")
    sign = 1.0 if toward == "out" else -1.0

    def load(x: float) -> float:
        return sign * mechanism.load_at(x, sign)[2]

    x = _highest(load, mechanism.out_m, places)
    return Weakest(x, 1 - load(x) / push_n, load(x))


def what_helps(mechanism: Mechanism, push_n: float, margin: float, toward: Toward = "out") -> Help:
    """The least spring, and the nearest attachment, that bring the weakest place to `margin`.

    The spring pushes the way the rod goes. An attachment may take another stroke than there is: compare its `stroke_m`.
    None where none within a factor of 4 helps, or where nothing swings.

    >>> from sequencer.air.mechanism.straight import StraightLoad
    >>> sledge = Mechanism((StraightLoad(2.0, rubs_n=80.0),), ("sledge",), 0.3)
    >>> what_helps(sledge, 100.0, 0.5).spring_n
    30.0
    """
    found = weakest(mechanism, push_n, toward)
    if found.margin >= margin:
        return Help(found, 0.0, None)
    goal = _Goal(push_n, margin, toward)
    return Help(found, found.load_n - push_n * (1 - margin), _attachment(mechanism, goal))


@frozen
class _Goal:
    push_n: float
    margin: float
    toward: Toward

    def met_by(self, mechanism: Mechanism | None, places: int) -> bool:
        return mechanism is not None and weakest(mechanism, self.push_n, self.toward, places).margin >= self.margin


def _attachment(mechanism: Mechanism, goal: _Goal) -> Attachment | None:
    for number, piece in enumerate(mechanism.pieces):
        if isinstance(piece, SwungArm | SwungBars):
            return _nearest(mechanism, number, piece, goal)
    return None


def _nearest(
    mechanism: Mechanism, number: int, piece: SwungArm | SwungBars, goal: _Goal
) -> Attachment | None:
    """The attachment of a piece least far from the present one, on either side, that meets the goal."""
    now = piece.swing.rod_at_m

    def meets(rod_at: float, places: int = COARSE) -> bool:
        return goal.met_by(_pinned_at(mechanism, number, piece.with_rod_at(rod_at)), places)

    step = FURTHEST ** (1 / TRIES)
    for count in range(1, TRIES + 1):
        for factor in (step, 1 / step):
            if meets(now * factor**count):
                rod_at = _closed_in(meets, now * factor ** (count - 1), now * factor**count)
                return Attachment(mechanism.names[number], rod_at, piece.with_rod_at(rod_at).out_m)
    return None


def _closed_in(meets: Callable[[float, int], bool], fails: float, holds: float) -> float:
    """Between one that fails and one that holds, the last that holds, to a millionth of the way."""
    if not meets(holds, FINE):
        return holds
    for _ in range(20):
        middle = (fails + holds) / 2
        if meets(middle, FINE):
            holds = middle
        else:
            fails = middle
    return holds


def _pinned_at(mechanism: Mechanism, number: int, moved: SwungArm | SwungBars) -> Mechanism | None:
    """The mechanism with one piece's rod pin moved and, where it takes more, a longer stroke.

    None where it cannot swing so, or where a cylinder of that stroke is longer closed than its pins are apart.
    """
    swing = moved.swing
    stroke = max(mechanism.stroke_m, swing.out_m)
    if dead_centre_rad(swing) is not None or swing.out_m <= 0 or swing.home_m < stroke:
        return None
    if isinstance(moved, SwungBars) and does_not_close_at(moved.bars, swing.start_rad, swing.end_rad) is not None:
        return None
    pieces = (*mechanism.pieces[:number], moved, *mechanism.pieces[number + 1:])
    return Mechanism(pieces, mechanism.names, stroke)


def _highest(load: Callable[[float], float], out_m: float, places: int) -> float:
    """Where a load is highest: the best of even places, then the golden section between its neighbours."""
    step = out_m / places
    best = max(range(places + 1), key=lambda number: load(number * step))
    low, high = max(best - 1, 0) * step, min(best + 1, places) * step
    golden = (5**0.5 - 1) / 2
    for _ in range(40):
        left, right = high - golden * (high - low), low + golden * (high - low)
        if load(left) >= load(right):
            high = right
        else:
            low = left
    return max((best * step, (low + high) / 2), key=load)
