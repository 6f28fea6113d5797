"""Whatever a name holds stays text; numbers that are none are refused; thinning moves a curve less than can be seen."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.pages.drawing.lines import FINE, mark, polyline, thinned
from sequencer.pages.drawing.svg import escaped, number, tag, text
from sequencer.pages.drawing.theme import DARK, DASHES, LIGHT, NIGHT, SHAPES, Palette, of_a_picture, style_sheet


@given(st.text())
def test_any_text_comes_back_from_an_xml_reader_as_it_was_but_for_what_xml_forbids(words: str) -> None:
    element = ElementTree.fromstring(tag("text", {"class": "a" + words}, escaped(words) or "-"))
    allowed = re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "?", words)
    assert (element.text or "") == (allowed.replace("\r\n", "\n").replace("\r", "\n") or "-")
    assert len(element) == 0 and set(element.attrib) == {"class"}


def test_no_script_gets_in() -> None:
    made = text((0, 0), '</text><script>alert(1)</script>', kind='x" onload="y')
    element = ElementTree.fromstring(made)
    assert len(element) == 0 and "onload" not in element.attrib


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e300])
def test_a_place_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="no place"):
        number(bad)


def test_an_attribute_has_a_name() -> None:
    with pytest.raises(ValueError, match="no name"):
        tag("g", {'x="1" y': "2"})


@given(st.lists(st.tuples(st.floats(0, 900), st.floats(0, 400)), min_size=3, max_size=60))
def test_a_thinned_curve_passes_near_every_point_it_leaves_out(points: list[tuple[float, float]]) -> None:
    points = sorted(points)
    kept = thinned(points)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    assert set(kept) <= set(points)
    for point in points:
        assert min(_off(point, one, two) for one, two in pairwise(kept)) <= FINE + 1e-9


def _off(point: tuple[float, float], one: tuple[float, float], two: tuple[float, float]) -> float:
    (x, y), (a, b), (c, d) = point, one, two
    length = math.hypot(c - a, d - b)
    return abs((x - a) * (d - b) - (y - b) * (c - a)) / length if length else math.hypot(x - a, y - b)


def test_a_straight_line_needs_two_points() -> None:
    assert len(thinned([(x / 10, 2 * x / 10) for x in range(5000)])) == 2
    assert polyline([(0, 0)], "d-c0") == ""


@pytest.mark.parametrize("shape", sorted(set(SHAPES)))
def test_every_shape_can_be_drawn(shape: str) -> None:
    ElementTree.fromstring(mark((5, 5), shape, "d-m0"))


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at:at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, two: str) -> float:
    low, high = sorted((_luminance(one), _luminance(two)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("palette", [LIGHT, DARK, NIGHT])
def test_text_and_curves_stand_out_from_the_ground(palette: Palette) -> None:
    """4.5 for text and 3 for what must be seen: WCAG 2.2, success criteria 1.4.3 and 1.4.11."""
    assert _contrast(palette.ink, palette.ground) >= 4.5
    assert _contrast(palette.limit, palette.ground) >= 4.5
    for curve in palette.curves:
        assert _contrast(curve, palette.ground) >= 3
    assert len(set(DASHES)) == len(palette.curves)


def test_a_scope_goes_before_every_rule() -> None:
    rules = style_sheet(DARK, ".dark").split("}")[:-1]
    assert all(rule.startswith(".dark .d-") for rule in rules)
    assert of_a_picture().count("{") == of_a_picture().count("}")
