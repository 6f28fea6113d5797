"""A rod that just does or just does not hop once more off its cushion arrives at either of two times: in the model, not
in its numerics, and within the band of either."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.air.fit import arrival_s
from sequencer.air.from_rig import Described, Unknowns, cylinder_air
from sequencer.sizing.strokes import described, strokes
from tests.sizing.props import ram

OUT = Unknowns(0.7, 5.0)


def light_and_fast() -> Described:
    return described(ram(stroke="10 in", needle_out="70 %", cushioned=True, tube="3/8 in", length="6 ft", moves="18 lb",
                         regulator="100 psi", lifts="0 deg"))


def jump(parts: Described, tolerance: float) -> tuple[float, float, float]:
    """The friction at which the arrival jumps, and the arrivals on either side of it."""
    low, high = 0.89, 0.92
    first, last = (arrival_s(parts, replace(OUT, friction=at), "out", 5.0, tolerance) for at in (low, high))
    for _ in range(16):
        middle = (low + high) / 2
        found = arrival_s(parts, replace(OUT, friction=middle), "out", 5.0, tolerance)
        if abs(found - first) > abs(found - last):
            high, last = middle, found
        else:
            low, first = middle, found
    return low, first, last


def test_the_jump_is_as_high_at_two_hundred_times_finer_steps() -> None:
    """30 ms of 0.51 s; its place moves by half a per cent of the friction, which nobody knows to 10 %."""
    parts = light_and_fast()
    (coarse, a, b), (fine, c, d) = (jump(parts, tolerance) for tolerance in (2e-4, 1e-6))
    assert b - a == pytest.approx(0.0302, rel=0.02) and d - c == pytest.approx(b - a, rel=0.01)
    assert a == pytest.approx(c, rel=1e-3) and b == pytest.approx(d, rel=1e-3)
    assert coarse == pytest.approx(fine, rel=1e-2)


def test_the_band_of_either_side_holds_the_other() -> None:
    """Of a prop as described, and of one that was timed on either side of the jump."""
    parts = light_and_fast()
    at, *sides = jump(parts, 2e-4)
    seals = cylinder_air(parts, OUT, "out").friction.sliding_n
    for number, taken in enumerate(sides):
        friction = f"{seals * at * (0.999, 1.001)[number]:.5f} N"
        for more in ({}, {"measured_out": f"{taken:.4f} s"}):
            way = strokes(ram(stroke="10 in", needle_out="70 %", cushioned=True, tube="3/8 in", length="6 ft",
                              moves="18 lb", regulator="100 psi", lifts="0 deg", friction=friction, **more), False).out
            assert way.fastest_s is not None and way.slowest_s is not None
            assert way.fastest_s < min(sides) and max(sides) < way.slowest_s, (number, more)
