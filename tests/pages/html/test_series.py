"""Quantities over the run: each curve in its unit, with its limits, nothing off its scale, its value at any moment."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sequencer.dryrun.as_json import as_object
from sequencer.dryrun.timeline import Series
from sequencer.pages.html.page import make_page
from sequencer.pages.html.read_back import read_page
from sequencer.pages.terminal_events import say_end_run
from tests.pages.html.conftest import Open
from tests.pages.html.made import MARROW_LANE, at, curve, data_of, lanes, page_of, sheet, timeline
from tests.pages.html.test_playing import SEEK

PSI = 6894.757293168
BENCH = Series("bench", "pressure", "psi", ((0, 90 * PSI), (4_000_000, 90 * PSI), (4_400_000, 71.5 * PSI),
                                           (9_000_000, 90 * PSI)), (("least", 60 * PSI),))
CURRENT = Series("brick", "current", "A", ((0, 0.2), (3_000_000, 0.2), (3_000_001, 1.7), (24_000_000, 0.4)),
                 (("most", 5.0),))
RUNS = Series("shed", "runs", "%", ((0, 0.0), (5_000_000, 0.0), (5_000_000, 1.0), (9_000_000, 1.0), (9_000_000, 0.0),
                                   (24_000_000, 0.0)))
CAP = Series("window.ram", "pressure", "bar", ((0, 0.0), (24_000_000, 4e5)))


def text() -> str:
    one = sheet(MARROW_LANE)
    assert one.timeline is not None
    return make_page(replace(one, timeline=replace(one.timeline, series=(BENCH, CURRENT, RUNS, CAP))))


@pytest.fixture
def page(opened: Open) -> Page:
    return opened(text())


def test_a_curve_is_in_the_authors_unit_and_within_half_a_per_cent_of_its_scale() -> None:
    lane = lanes(data_of(text()))["series:bench pressure"]
    points = curve(lane["curve"], lane["grain"])
    for time, psi in ((0, 90), (4000, 90), (4200, 80.75), (4400, 71.5), (6700, 80.75), (20_000, 90)):
        assert abs(at(points, time) - psi) <= 0.005 * (lane["high"] - lane["low"])
    assert lane["unit"] == "psi"
    assert lane["limits"] == [[pytest.approx(60), "least 60 psi"]]


def test_its_scale_holds_all_of_it_and_its_limits_at_round_numbers() -> None:
    for lane in (lane for lane in lanes(data_of(text())).values() if lane["kind"] == "series"):
        values = [value for _, value in curve(lane["curve"], lane["grain"])]
        shown = [*values, *(value for value, _ in lane["limits"])]
        slack = 1e-6 * (lane["high"] - lane["low"])
        assert lane["low"] - slack <= min(shown) and max(shown) <= lane["high"] + slack
        assert lane["ticks"][0][0] == pytest.approx(lane["low"]) and lane["ticks"][-1][0] == pytest.approx(lane["high"])


def test_what_all_share_stands_together_and_what_is_a_props_with_it() -> None:
    groups = {group["name"]: [lane["of"] for lane in group["lanes"]] for group in data_of(text())["groups"]}
    assert groups["supply"] == ["bench pressure", "brick current", "shed runs"]
    assert "window.ram pressure" in groups["window"]


def test_the_value_stands_beside_the_curve_and_on_the_stage(page: Page) -> None:
    page.evaluate(SEEK, 4400)
    page.fill("#filter", "bench pressure")
    row = page.locator(".row").filter(visible=True)
    expect(row.locator(".state")).to_have_text("71.5 psi")
    expect(row.locator("text", has_text="least 60 psi")).to_have_count(1)
    expect(row.locator(".limit")).to_have_count(1)
    expect(page.locator("[data-series=bench]")).to_have_text("71.5 psi ")
    expect(page.locator("[data-series=brick]")).to_contain_text("A")


def test_a_compressor_runs_on_the_stage_and_in_its_lane(page: Page) -> None:
    assert lanes(data_of(text()))["switched:shed runs"]["asked"] == [5000, 4000]
    for time, state in ((4_900, "off"), (5_100, "runs"), (9_100, "off")):
        page.evaluate(SEEK, time)
        page.fill("#filter", "shed runs")
        expect(page.locator(".row").filter(visible=True).locator(".state")).to_have_text(state)
        symbol = page.locator("[data-switched='shed runs']")
        assert symbol.evaluate("one => one.classList.contains('on')") is (state == "runs")


def chamber_lanes() -> dict[str, dict[str, Any]]:
    return {key: lane for key, lane in lanes(data_of(page_of(MARROW_LANE, sound=False))).items() if "second" in lane}


def test_the_pressures_of_a_cylinder_are_those_of_the_json_form_at_20_times() -> None:
    rows = {(one["of"], one["what"]): [(us / 1000, value / PSI) for us, value in one["points"]]
            for one in as_object(timeline(MARROW_LANE))["series"]}
    draws, found = random.Random(4), chamber_lanes()
    assert {"series:window.ram pressure", "series:frame.bar pressure"} <= set(found)
    for lane in found.values():
        cylinder = lane["of"].removesuffix(" pressure")
        for field, end in (("curve", "cap end"), ("second", "rod end")):
            points = curve(lane[field], lane["grain"])
            for time in (4_100, 4_300, *(draws.uniform(0, 24_000) for _ in range(18))):
                off = at(points, time) - at(rows[cylinder, f"{end} pressure"], time)
                assert abs(off) <= 0.005 * (lane["high"] - lane["low"]), (cylinder, end, time)
        assert lane["limits"][0][1].startswith("regulator ") and lane["unit"] == "psi"
        assert lane["low"] == 0


def test_pressures_in_cylinders_are_folded_until_they_are_looked_for(demo: Page) -> None:
    fold = demo.get_by_role("button", name="Pressures: The drowned signalman")
    expect(fold).to_have_attribute("aria-expanded", "false")
    row = demo.locator(".row", has=demo.locator("b", has_text="ram pressure"))
    expect(row).to_be_hidden()
    demo.fill("#filter", "ram pressure")
    expect(row).to_be_visible()
    expect(fold).to_have_attribute("aria-expanded", "true")
    demo.evaluate(SEEK, 4_900)
    expect(row.locator(".state")).to_have_text(re.compile(r"cap end 59\.\d, rod end 0\.\d+ psi"))
    expect(row.locator(".curve")).to_have_count(2)
    demo.fill("#filter", "")
    expect(row).to_be_hidden()
    fold.press("Enter")
    expect(row).to_be_visible()


def test_the_current_is_a_curve_with_the_most_that_the_supply_gives(demo: Page) -> None:
    demo.fill("#filter", "brick")
    expect(demo.locator(".row").filter(visible=True).locator("text", has_text="most 20 A")).to_have_count(1)
    demo.evaluate(SEEK, 4_300)
    shown = float((demo.locator("[data-series=brick]").text_content() or "").split()[0])
    points = next(one for one in timeline(MARROW_LANE).series if one.what == "current").points
    assert shown == pytest.approx(at([(us / 1000, amps) for us, amps in points], 4_300), abs=0.01 * 20)


def test_how_the_end_of_a_prop_went_stands_with_its_rod(demo: Page) -> None:
    card = demo.locator(".device.rod", has=demo.locator("[data-state='rod:window.ram']")).locator(".goes")
    demo.evaluate(SEEK, 3_000)
    expect(card).to_have_text("")
    track = next(one for one in timeline(MARROW_LANE).tracks if one.cylinder == "window.ram")
    for movement in track.movements:
        demo.evaluate(SEEK, movement.leaves + 1)
        said = "; ".join(say_end_run(one, "window.ram") for one in movement.carries)
        assert said.startswith("runners: 10 in, at most ")
        expect(card).to_have_text(said)


def test_a_page_with_curves_is_read_back(page: Page) -> None:
    assert read_page(text(), "x.html").data["title"] == "Marrow Lane Signal Box"
