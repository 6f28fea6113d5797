"""A number in a phrase of what the rod drives is swept: each row is the stroke by itself, the rest of it stays."""

from __future__ import annotations

import math

import pytest

from sequencer.sizing.driven import SUCH_AS
from sequencer.sizing.made import Unfit
from sequencer.sizing.strokes import strokes
from sequencer.sizing.sweep import Swept, read_driven_range, swept
from sequencer.sizing.sweep_driven import phrase_with_range
from tests.sizing.props import ram, said

IN = 0.0254


def sweep(text: str, **more: object) -> Swept:
    found = phrase_with_range(text)
    assert found is not None
    return swept(said(moves=None, lifts=None, **more), read_driven_range(*found))


def test_each_row_is_the_stroke_by_itself() -> None:
    found = sweep("lever arm 30..40 in", lever=(SUCH_AS["lever"],), stroke="6 in")
    for value, row in zip(found.sweep.values, found.strokes, strict=True):
        lever = SUCH_AS["lever"].replace("arm 36 in", f"arm {value.text}")
        alone = strokes(ram(moves=None, lifts=None, stroke="6 in", lever=(lever,)), False)
        assert row.out.arrives_s == alone.out.arrives_s and row.out.force == alone.out.force
    assert found.driven_words == (f"lever: {SUCH_AS['lever'].replace('36 in', '30..40 in')}",)


def test_a_stroke_that_is_not_said_follows_the_attachment() -> None:
    """Pin to pin by the law of cosines at both ends of the swing."""
    found = sweep("lever rod 6..10 in from the pivot", lever=(SUCH_AS["lever"],), stroke=None)

    def pins(at: float, degrees: float) -> float:
        return math.sqrt(at**2 + 20**2 - 2 * at * 20 * math.cos(math.radians(degrees + 90)))

    for value, row in zip(found.sweep.values, found.strokes, strict=True):
        taken = pins(value.si / IN, 15) - pins(value.si / IN, -30)
        assert row.given.cylinder.stroke.si / IN == pytest.approx(taken, abs=0.01)
        assert row.out.ends[0].turned_rad == pytest.approx(math.radians(45), abs=1e-6)
    assert found.varies == ("lever: rod", "stroke")
    assert found.assumed[0] == "stroke 4.55 in to 7.25 in, as what it drives takes it"
    margins = [row.out.force.margin for row in found.strokes]
    assert margins == sorted(margins), "the further from the pivot, the more is left of the push"


@pytest.mark.parametrize(("text", "values"), [
    ("lever swings from -40..-30 deg to 15 deg", ["-40 deg", "-39 deg"]),
    ("lever swings from -30 deg to 5..15 deg", ["5 deg", "6 deg"]),
    ("lever cylinder 18..20 in from the pivot at -90 deg", ["18 in", "18.2 in"]),
    ("lever cylinder 20 in from the pivot at -95 deg..-85 deg", ["-95 deg", "-94 deg"]),
    ("scissor stages 1..4", ["1", "2"]), ("rope multiplies 1..3 times", ["1", "2"]),
    ("rope each pulley loses 0..20 %", ["0 %", "2 %"]), ("spring preload 10 lbf..20 lbf", ["10 lbf", "11 lbf"]),
    ("fourbar coupler 17..19 in", ["17 in", "17.2 in"]), ("slide rises -10..10 deg", ["-10 deg", "-8 deg"]),
])
def test_any_number_of_any_phrase_can_be_swept(text: str, values: list[str]) -> None:
    found = phrase_with_range(text)
    assert found is not None
    assert [value.text for value in read_driven_range(*found).values[:2]] == values


@pytest.mark.parametrize(("text", "says"), [
    ("lever arm 24 in", "has no range"), ("lever", "has no range"), ("lever arms 24..48 in", "does not say"),
    ("lever arm 24..48 psi", "does not say"), ("lever arm 48..24 in", "must rise"),
    ("lever arm 24 mm..48 in", "same unit"), ("scissor stages 1..1", "must rise"),
    ("scissor stages 1..1.5", "whole numbers"), ("rope multiplies 1..99 times", "whole numbers"),
    ("lever arm nan..48 in", "has no range"), ("lever arm 24..1e400 in", "no length"),
])
def test_what_is_no_range_of_a_phrase_is_told(text: str, says: str) -> None:
    with pytest.raises(Unfit, match=says):
        found = phrase_with_range(text)
        assert found is not None
        read_driven_range(*found)


def test_a_value_that_cannot_be_is_told_with_its_phrase() -> None:
    with pytest.raises(Unfit, match=r"with swings from -30 deg to 90 deg: .*one line"):
        sweep("lever swings from -30 deg to 10..100 deg", lever=(SUCH_AS["lever"],), stroke=None)


def test_a_part_that_is_not_on_the_rod_cannot_be_swept() -> None:
    with pytest.raises(Unfit, match="needs just one on the rod, and there is none"):
        sweep("lever arm 30..40 in")
    with pytest.raises(Unfit, match="there are 2"):
        sweep("spring preload 10..20 lbf", spring=(SUCH_AS["spring"],) * 2)


def test_other_words_are_no_phrase() -> None:
    assert phrase_with_range("regulator 40..90 psi") is None
