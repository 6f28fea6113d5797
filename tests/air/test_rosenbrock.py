"""The stiff method by itself: its order with a right, a wrong and no Jacobian, and that stiffness does not shake it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from sequencer.air import rosenbrock as ros
from sequencer.air.solver import share_at


def step(f: Callable[[float], float], slope: float, y: float, h: float) -> float:
    stages: list[float] = []
    for a, c in zip(ros.A, ros.C, strict=True):
        at = y + sum(factor * u for factor, u in zip(a, stages, strict=False))
        right = f(at) + sum(factor * u for factor, u in zip(c, stages, strict=False)) / h
        stages.append(right / (1 / (h * ros.GAMMA) - slope))
    return y + sum(factor * u for factor, u in zip(ros.M, stages, strict=True))


def error(steps: int, slope: Callable[[float], float]) -> float:
    """y' = -y^2 from 1 to t = 1: y = 1 / (1 + t)."""
    y = 1.0
    for _ in range(steps):
        y = step(lambda value: -value * value, slope(y), y, 1 / steps)
    return abs(y - 0.5)


@pytest.mark.parametrize("slope", [lambda y: -2 * y, lambda y: 0.0, lambda y: -4.0], ids=["right", "none", "wrong"])
def test_half_the_step_is_an_eighth_of_the_error_with_any_jacobian(slope: Callable[[float], float]) -> None:
    assert math.log2(error(32, slope) / error(64, slope)) == pytest.approx(3, abs=0.25)


def test_the_second_weights_are_of_second_order() -> None:
    assert sum(ros.WEIGHTS) == pytest.approx(1, abs=1e-12)
    assert sum(ros.WEIGHTS_SECOND) == pytest.approx(1, abs=1e-12)
    rows = [sum(alpha) + 0.0 for alpha in ros.ALPHA_ROWS]
    assert sum(b * c for b, c in zip(ros.WEIGHTS_SECOND, rows, strict=True)) == pytest.approx(0.5, abs=1e-9)


def test_a_very_stiff_decay_is_gone_after_one_step() -> None:
    assert abs(step(lambda y: -1e9 * y, -1e9, 1.0, 1.0)) < 1e-6


def test_an_event_is_found_where_the_cubic_passes() -> None:
    # 3 s^2 - 2 s^3 rises from 0 to 1; it is 0.5 at 0.5
    assert share_at((0.0, 0.0, 1.0, 0.0), 0.5) == pytest.approx(0.5, abs=1e-9)
    # s (1 - 2 s) leaves 0 and comes back at 0.5
    assert share_at((0.0, 1.0, -1.0, -3.0), 0.0) == pytest.approx(0.5, abs=1e-9)
