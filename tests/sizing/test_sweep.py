"""A sweep goes through round numbers or sizes that are sold, in order, and each row is the stroke by itself."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.sizing.made import Unfit
from sequencer.sizing.strokes import strokes
from sequencer.sizing.sweep import FIELDS, POINTS, read_range, swept
from sequencer.units import units_of
from tests.sizing.props import ram, said


def texts(field: str, text: str) -> list[str]:
    return [value.text for value in read_range(field, text).values]


def test_values_are_round_in_the_unit_typed() -> None:
    assert texts("regulator", "40..90 psi") == [f"{psi} psi" for psi in range(40, 91, 5)]
    assert texts("needle", "5..100 %")[:3] == ["5 %", "10 %", "20 %"]
    assert texts("length", "1 m..3.5 m")[0:2] == ["1 m", "1.25 m"]
    assert texts("lifts", "-30..30 deg")[0] == "-30 deg"


def test_sizes_are_those_that_are_sold() -> None:
    assert texts("tube", "4..12 mm") == ["4 mm", "6 mm", "8 mm", "10 mm", "12 mm"]
    assert texts("bore", "32..63 mm") == ["32 mm", "40 mm", "50 mm", "63 mm"]
    assert texts("bore", "1..2 in") == ["1-1/16 in", "1-1/8 in", "1-1/4 in", "1-1/2 in", "2 in"]


fields = sorted(set(FIELDS) - {"bore", "tube"})


@settings(max_examples=100)
@given(st.sampled_from(fields), st.integers(1, 500), st.integers(1, 500), st.integers(0, 3))
def test_a_range_keeps_its_ends_and_rises(field: str, low: int, span: int, decimals: int) -> None:
    unit = "" if FIELDS[field] == "number" else units_of(FIELDS[field])[0]
    ends = [f"{number / 10**decimals:g}" for number in (low, low + span)]
    values = read_range(field, f"{ends[0]}..{ends[1]} {unit}".rstrip()).values
    assert [values[0].text, values[-1].text] == [f"{end} {unit}".rstrip() for end in ends]
    assert all(one.si < two.si for one, two in pairwise(values))
    assert 2 <= len(values) <= POINTS + 3


@pytest.mark.parametrize(
    ("field", "text", "says"),
    [
        ("regulator", "40 psi", "no range"), ("regulator", "90..40 psi", "must rise"),
        ("regulator", "40 in..90 psi", "is a length"), ("regulator", "40..90", "no pressure with its unit"),
        ("regulator", "4 bar..90 psi", "same unit"), ("tube", "4..5 mm", "fewer than two sizes"),
        ("regulator", "..", "no range"), ("regulator", "1/0..90 psi", "divides" ), ("lifts", "a..b deg", "no angle"),
    ],
)
def test_what_is_no_range_is_told(field: str, text: str, says: str) -> None:
    with pytest.raises(Unfit) as fault:
        read_range(field, text)
    assert says in str(fault.value) or "with its unit" in str(fault.value)


def test_each_row_is_the_stroke_by_itself() -> None:
    found = swept(said(), read_range("regulator", "50..70 psi"))
    for value, row in zip(found.sweep.values, found.strokes, strict=True):
        alone = strokes(ram(regulator=value.text), False)
        assert row.out.arrives_s == alone.out.arrives_s and row.home.air_std_l == alone.home.air_std_l
    arrivals = [row.out.arrives_s for row in found.strokes]
    assert arrivals == sorted(arrivals, reverse=True), "more pressure is never later"


def test_both_needles_are_turned_at_once() -> None:
    found = swept(said(), read_range("needle", "40..60 %"))
    assert found.strokes[0].given.cylinder.needle_out.text == "40 %"
    assert found.strokes[0].given.cylinder.needle_back.text == "40 %"


def test_a_bore_takes_the_rod_of_its_size() -> None:
    found = swept(said(), read_range("bore", "32..50 mm"))
    assert [str(row.given.cylinder.rod) for row in found.strokes] == ["12 mm", "16 mm", "20 mm"]
    assert sum("rod" in words for words in found.assumed) == 3
