"""A picture is whole: every curve within its frame, every word within the picture, no name on another."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.pages.drawing.chart import Chart, picture
from sequencer.pages.drawing.events import Event
from sequencer.pages.drawing.panel import PANEL_PX, Curve, Level, Panel, Spread
from sequencer.pages.drawing.scale import HAIR
from sequencer.pages.drawing.svg import text_width
from sequencer.units import UNITS

SVG = "{http://www.w3.org/2000/svg}"
UNSEEN = HAIR * PANEL_PX + 0.01
"""Pixels by which a curve may pass a frame: a thousandth of a step, and how places are rounded."""
SIZES = {"d-label": 14, "d-title": 15, "d-head": 18}


def chart(ys: list[float], events: tuple[Event, ...] = (), name: str = "cap end") -> Chart:
    points = tuple((at / 100, y) for at, y in enumerate(ys))
    pressure = Panel("pressure", UNITS["psi"], (Curve(name, points), Curve("rod end", points[::-1][::-1])),
                     (Level("regulator", 4e5),))
    spread = Spread(0, tuple((x, y / 1.2e7, y / 0.9e7) for x, y in points))
    place = Panel("position", UNITS["in"], (Curve("rod", tuple((x, y / 1e7) for x, y in points), True),),
                  spreads=(spread,))
    return Chart("A stroke of the ram", ("at the signal box",), "time", UNITS["ms"], (place, pressure), events)


def boxes(svg: ElementTree.Element) -> Iterator[tuple[str, float, float, float, float]]:
    """The words that lie level, with the rectangle they take: left, top, right, bottom."""
    for element in svg.iter(f"{SVG}text"):
        if element.get("transform"):
            continue
        size = SIZES[element.attrib["class"]]
        wide = text_width(element.text or "", size)
        x, y = float(element.attrib["x"]), float(element.attrib["y"])
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")] * wide
        yield element.text or "", left, y - 0.75 * size, left + wide, y + 0.2 * size


names = st.sampled_from(["starts", "half way, 0.21 s", "arrives at 1.2 m/s"])
named_moments = st.lists(st.tuples(st.floats(0, 0.4), names), max_size=6)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(-1e5, 9e5), min_size=2, max_size=40), named_moments)
def test_nothing_is_cut_covered_or_off_the_chart(ys: list[float], named: list[tuple[float, str]]) -> None:
    svg = ElementTree.fromstring(picture(chart(ys, tuple(Event(name, at) for at, name in named))))
    width, height = float(svg.attrib["width"]), float(svg.attrib["height"])
    for panel in (one for one in svg.iter(f"{SVG}g") if one.get("class") == "d-panel"):
        frame = next(one for one in panel.iter(f"{SVG}rect") if one.get("class") == "d-frame")
        left, top = float(frame.attrib["x"]), float(frame.attrib["y"])
        right, bottom = left + float(frame.attrib["width"]), top + float(frame.attrib["height"])
        shaded = [one for one in panel.iter(f"{SVG}polygon") if one.get("class") == "d-b0"]
        shapes = [*panel.iter(f"{SVG}polyline"), *shaded]
        for curve in shapes:
            for pair in curve.attrib["points"].split():
                x, y = map(float, pair.split(","))
                assert left - UNSEEN <= x <= right + UNSEEN and top - UNSEEN <= y <= bottom + UNSEEN
    found = list(boxes(svg))
    for words, left, top, right, bottom in found:
        assert left >= 0 and top >= 0 and right <= width and bottom <= height, words
    for at, (words, left, top, right, bottom) in enumerate(found):
        for other, a, b, c, d in found[at + 1:]:
            assert right <= a + 0.5 or c <= left + 0.5 or bottom <= b + 0.5 or d <= top + 0.5, (words, other)


def test_an_upright_line_crosses_no_name() -> None:
    moments = ((0.05, "starts after the valve"), (0.07, "half way"), (0.09, "there"))
    named = tuple(Event(name, at) for at, name in moments)
    svg = ElementTree.fromstring(picture(chart([0.0] * 30, named)))
    events = next(one for one in svg.iter(f"{SVG}g") if one.get("class") == "d-events")
    words = {words for words, *_ in boxes(events)}
    assert words == {event.name for event in named}
    for line in events.iter(f"{SVG}line"):
        x, upper, lower = float(line.attrib["x1"]), float(line.attrib["y1"]), float(line.attrib["y2"])
        for _, left, top, right, bottom in boxes(events):
            assert not (left < x < right and upper < bottom and lower > top)


def test_a_curve_with_a_hole_is_two_pieces() -> None:
    svg = ElementTree.fromstring(picture(chart([1e5, 2e5, math.nan, 3e5, 1e5])))
    assert sum(one.get("class") == "d-c0" for one in svg.iter(f"{SVG}polyline")) == 4
    assert sum(one.get("class") == "d-b0" for one in svg.iter(f"{SVG}polygon")) == 2


def test_names_are_text_and_no_style_attribute_is_written() -> None:
    made = picture(chart([0.0, 1e5], name='<script>alert("x")</script>'))
    svg = ElementTree.fromstring(made)
    assert not list(svg.iter(f"{SVG}script"))
    assert not re.search(r"\sstyle=", made)


def test_curves_differ_without_colour() -> None:
    svg = ElementTree.fromstring(picture(chart([0.0, 1e5])))
    kinds = {one.get("class") for one in svg.iter(f"{SVG}polyline")}
    assert kinds == {"d-c0", "d-c1"}


def test_a_chart_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing to draw"):
        picture(Chart("none", (), "time", UNITS["s"], (Panel("position", UNITS["in"], ()),)))
