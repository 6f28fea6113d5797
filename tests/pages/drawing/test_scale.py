"""Ticks at round numbers of the author's unit, both ends of an axis labelled, nothing off it."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.pages.drawing.scale import HAIR, OWN_STEPS, STEPS, Scale, round_step, spread, ticks
from sequencer.units import UNITS

SYMBOLS = ("psi", "bar", "in", "mm", "s", "ms", "deg", "L/min", "scfm", "lb", "C", "F", "min")
spans = st.tuples(st.floats(-1e4, 1e4), st.floats(1e-2, 1e5))


@given(spans, st.sampled_from(SYMBOLS), st.integers(2, 12))
def test_a_spread_range_holds_what_was_asked_and_ends_in_ticks(
    span: tuple[float, float], symbol: str, most: int
) -> None:
    unit = UNITS[symbol]
    low, high = span[0], span[0] + span[1]
    wide = spread(low, high, unit, most)
    found = ticks(*wide, unit, most)
    slack = 1.001 * HAIR * (found[1].value - found[0].value) + 1e-9 * max(abs(low), abs(high))
    assert wide[0] <= low + slack and high <= wide[1] + slack
    assert 2 <= len(found) <= most + 1
    assert found[0].value == pytest.approx(wide[0], rel=1e-6, abs=1e-6 * (wide[1] - wide[0]))
    assert found[-1].value == pytest.approx(wide[1], rel=1e-6, abs=1e-6 * (wide[1] - wide[0]))


@given(spans, st.sampled_from(SYMBOLS), st.integers(2, 12))
def test_a_label_is_the_value_in_the_unit_and_labels_are_evenly_spaced(
    span: tuple[float, float], symbol: str, most: int
) -> None:
    unit = UNITS[symbol]
    found = ticks(*spread(span[0], sum(span), unit, most), unit, most)
    numbers = [float(tick.label) for tick in found]
    gap = (numbers[-1] - numbers[0]) / (len(numbers) - 1)
    for at, (tick, label) in enumerate(zip(found, numbers, strict=True)):
        said = label * float(unit.factor) + float(unit.offset)
        assert said == pytest.approx(tick.value, rel=1e-5, abs=1e-9)
        assert label == pytest.approx(numbers[0] + at * gap, rel=1e-9, abs=1e-6 * gap)
    assert len({tick.label for tick in found}) == len(found)


@given(st.floats(1e-9, 1e9), st.integers(1, 20))
def test_a_step_is_round_and_no_finer_one_would_do(span: float, most: int) -> None:
    step = round_step(span, most)
    power = 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(step / power - one) for one in (*STEPS, 10.0)) < 1e-9
    assert span / step <= most * (1 + 1e-6)
    assert span / (step / 2.6) > most


def test_inches_go_by_halves_and_threes() -> None:
    assert [tick.label for tick in ticks(0.0, 0.3048, UNITS["in"], 5)] == ["0", "3", "6", "9", "12"]
    assert [tick.label for tick in ticks(0.0, 0.0254, UNITS["in"], 5)] == ["0.00", "0.25", "0.50", "0.75", "1.00"]
    assert all(one < two for steps in OWN_STEPS.values() for one, two in pairwise(steps))


@given(st.floats(-100, 100), st.floats(0.1, 100), st.floats(0, 1))
def test_a_value_comes_back_from_its_pixel(low: float, span: float, share: float) -> None:
    scale = Scale(low, low + span, 500.0, 20.0)
    value = low + share * span
    assert scale.value_at(scale.at(value)) == pytest.approx(value, abs=1e-9 * 200)
    assert scale.holds(value)
    assert not scale.holds(low + 1.1 * span)


@pytest.mark.parametrize("ends", [(1.0, 1.0), (2.0, 1.0), (math.nan, 1.0), (0.0, math.inf)])
def test_no_scale_without_a_range(ends: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="nothing can be drawn"):
        Scale(*ends, 0.0, 1.0)


def test_equal_ends_are_widened() -> None:
    low, high = spread(0.3, 0.3, UNITS["s"], 5)
    assert low < 0.3 < high
    low, high = spread(0.0, 0.0, UNITS["psi"], 5)
    assert low < 0.0 < high
