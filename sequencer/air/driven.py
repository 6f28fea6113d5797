"""What a rod drives -> the acceleration of the rod under a push, and the forces between which it stays at rest.

The equation of motion is that of `mechanism.linkage`: m(x) a + m'(x) v^2 / 2 = push - load(x, v).
"""

from __future__ import annotations

from collections.abc import Callable

from sequencer.air.cylinder import Drives

CLOSE = 1e-9
MOST_ROUNDS = 200
"""The friction of pulleys and pivots grows by their share of the push; at a share of 0.9 some 200 rounds settle it."""


def acceleration_of(drives: Drives, rod_kg: float) -> Callable[[float, float, int, float], float]:
    """`a(x, v, mode, push)` in m/s2: `mode` +1 or -1 is the way it slides, `push` in N what is left after the seals.

    A rope that would have to push is slack: then its piece falls by itself and the rod feels nothing of it. That fall
    is not followed; the piece counts as there again as soon as the rope would pull.
    """
    hot, by_pieces = drives.hot(rod_kg), _by_pieces(drives, rod_kg)
    if hot is None or not drives.pulls:
        return hot or by_pieces
    slack_at = drives.slack_at

    def acceleration(x: float, v: float, mode: int, push: float) -> float:
        a = hot(x, v, mode, push)
        return by_pieces(x, v, mode, push) if slack_at(x, v, a) else a

    return acceleration


def _by_pieces(drives: Drives, rod_kg: float) -> Callable[[float, float, int, float], float]:
    """Every piece asked itself."""
    load_at, slack_at = drives.load_at, drives.slack_at
    fewer: dict[tuple[str, ...], Callable[..., tuple[float, float, float]]] = {}

    def acceleration(x: float, v: float, mode: int, push: float) -> float:
        mass, half, load = load_at(x, mode, push)
        a = (push - load - half * v * v) / (rod_kg + mass)
        slack = slack_at(x, v, a)
        if not slack:
            return a
        if slack not in fewer:
            fewer[slack] = drives.without(slack).load_at
        mass, half, load = fewer[slack](x, mode, push)
        return (push - load - half * v * v) / (rod_kg + mass)

    return acceleration


def held_between(drives: Drives, x_m: float, seals_n: float) -> tuple[float, float]:
    """The pushes in N, outward and homeward, that a rod at rest just withstands; `seals_n` is its own friction.

    >>> from sequencer.air.mechanism.mechanism import Mechanism
    >>> from sequencer.air.mechanism.straight import StraightLoad
    >>> sledge = Mechanism((StraightLoad(2.0, rubs_n=3.0),), ("sledge",), 0.3)
    >>> held_between(sledge, 0.1, 10.0)
    (13.0, -13.0)
    """
    load = drives.load_at(x_m, 0.0)[2]
    return load + _holds(drives, x_m, load, 1.0) + seals_n, load - _holds(drives, x_m, load, -1.0) - seals_n


def _holds(drives: Drives, x_m: float, load: float, sign: float) -> float:
    """The friction at which push = load +- friction: it hangs on the push itself, so it is found by going round."""
    friction = 0.0
    for _ in range(MOST_ROUNDS):
        then = drives.friction_n(x_m, load + sign * friction)
        if abs(then - friction) <= CLOSE * (1 + then):
            break
        friction = then
    return friction
