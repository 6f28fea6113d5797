"""Random linkages that can be built, for the laws that hold for all of them."""

from __future__ import annotations

import math

from hypothesis import assume
from hypothesis import strategies as st

from sequencer.air.mechanism.fourbar import Bars, SwungBars, does_not_close_at
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import StraightLoad
from sequencer.air.mechanism.swing import Swing

masses = st.floats(0.1, 40)
shares = st.floats(0, 1)
angles = st.floats(-math.pi, math.pi)


@st.composite
def swings(draw: st.DrawFn) -> Swing:
    """Between 8 and 172 deg off the line of both pivots, on either side of it, counted from any full turn."""
    low, high = sorted((draw(st.floats(0.14, 3.0)), draw(st.floats(0.14, 3.0))))
    assume(high - low > 0.1)
    side, turn, base = draw(st.sampled_from((1, -1))), draw(st.sampled_from((-1, 0, 1))), draw(angles)
    start, end = (base + 2 * math.pi * turn + side * off for off in (low, high))
    return Swing(draw(st.floats(0.05, 0.6)), draw(st.floats(0.1, 1.2)), base, start, end)


@st.composite
def arms(draw: st.DrawFn) -> SwungArm:
    return SwungArm(draw(swings()), draw(st.floats(0.1, 2)), draw(masses), draw(st.floats(0, 10)))


@st.composite
def four_bars(draw: st.DrawFn) -> SwungBars:
    """Coupler and rocker are drawn so that they span the gap at every angle of the crank, a little over."""
    swing = draw(swings())
    plain = Bars(draw(st.floats(0.2, 1.2)), draw(st.floats(0.05, 0.6)), 1.0, 1.0, draw(st.sampled_from((1.0, -1.0))))
    steps = [swing.start_rad + (swing.end_rad - swing.start_rad) * n / 200 for n in range(201)]
    narrow, wide = (end(plain.gap_m(angle) for angle in steps) for end in (min, max))
    assume(narrow > 0.02)
    coupler = wide * draw(st.floats(0.55, 1.6))
    least, most = max(wide - coupler, coupler - narrow, 0.05 * wide), coupler + narrow
    assume(least < most)
    rocker = least + (most - least) * draw(st.floats(0.1, 0.9))
    bars = Bars(plain.ground_m, plain.crank_m, coupler, rocker, plain.side)
    assume(does_not_close_at(bars, swing.start_rad, swing.end_rad) is None)
    return SwungBars(swing, bars, draw(masses))


@st.composite
def stacks(draw: st.DrawFn) -> ScissorStack:
    start, end = draw(st.floats(0.14, 1.48)), draw(st.floats(0.14, 1.48))
    assume(abs(start - end) > 0.1)
    return ScissorStack(draw(st.integers(1, 6)), draw(st.floats(0.1, 1.5)), start, end, draw(masses), draw(masses))


@st.composite
def ropes(draw: st.DrawFn) -> RopeLift:
    times, out = draw(st.integers(1, 8)), draw(st.floats(0.05, 1))
    stretch = draw(st.sampled_from((0.0, 0.1))) * times * out
    return RopeLift(draw(masses), times, out, draw(st.booleans()), stretch)


@st.composite
def loads(draw: st.DrawFn) -> StraightLoad:
    return StraightLoad(draw(masses), draw(st.floats(-math.pi / 2, math.pi / 2)), out_m=0.4)


linkages = st.one_of(arms(), four_bars(), stacks(), ropes(), loads())
