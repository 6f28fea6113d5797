"""Two runs beside each other: what moved and by how much; an earlier page is read as what it is, whatever it holds."""

from __future__ import annotations

import copy
from base64 import b64encode
from dataclasses import replace
from typing import Any
from zlib import compress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import expect

from sequencer.pages.html.compare import Change, Other, compared
from sequencer.pages.html.embedded import embedded
from sequencer.pages.html.page import run_of
from sequencer.pages.html.read_back import BEGIN, END, NotAPage, read_page
from tests.pages.html.conftest import Open
from tests.pages.html.made import LANE, MARROW_LANE, Run, data_of, lanes, page_of, sheet, timeline

TEXT = (LANE / "marrow_lane.show").read_text(encoding="utf-8")
LATER = replace(MARROW_LANE, name="later.show", text=TEXT.replace("1.20 s:   ram lands", "1.50 s:   ram lands").replace(
    "with 5 and", "with 4 and"))
PAGE = page_of(MARROW_LANE, sound=False)


def ends_of(run: Run, cylinder: str) -> list[int]:
    return [one.ends for track in timeline(run).tracks if track.cylinder == cylinder for one in track.movements]


def changes() -> list[Change]:
    return compared(data_of(page_of(LATER, sound=False)), read_page(PAGE, "earlier.html"))


def test_a_run_beside_itself_has_not_moved() -> None:
    data = data_of(PAGE)
    assert compared(data, read_page(PAGE, "same.html")) == []
    assert not any("was" in lane for lane in lanes(data).values())


def test_a_landing_put_off_by_300_ms_moves_its_ram_by_300_ms() -> None:
    moved = {(one.who, one.what): one for one in changes()}
    before, now = moved["window.ram", "arrives out"].before, moved["window.ram", "arrives out"].now
    assert before in ends_of(MARROW_LANE, "window.ram") and now in ends_of(LATER, "window.ram")
    for who, what in (("ram", "arrives out"), ("ram", "arrives home"), ("lunge", "ends")):
        assert moved[f"window.{who}", what].moved == "300 ms later"
    assert ("mat", "trips") not in moved


def test_what_is_gone_or_new_says_so_and_comes_first() -> None:
    found = changes()
    gone = [one for one in found if one.moved == "gone"]
    assert {one.who for one in gone} == {"frame.bar"}
    assert found[: len(gone)] == gone
    fars = [one.far for one in found[len(gone):]]
    assert fars == sorted(fars, reverse=True)


def test_another_show_is_compared_as_an_earlier_page_is() -> None:
    now = data_of(page_of(LATER, sound=False))
    other = run_of(sheet(MARROW_LANE), "marrow_lane.show")
    assert compared(now, other) == changes()


def test_both_runs_are_drawn_one_below_the_other(opened: Open) -> None:
    page = opened(page_of(LATER, sound=False, other=read_page(PAGE, "earlier.html")))
    expect(page.locator("#changes-title")).to_have_text(f"Beside earlier.html (seed {MARROW_LANE.seed}, 24 s)")
    row = page.locator("#changes tbody tr", has_text="arrives out").filter(has_text="window.ram")
    expect(row).to_contain_text("300 ms later")
    row.locator("button").click()
    at = next(end for end in ends_of(LATER, "window.ram") if end > 4000)
    assert page.locator("#lanes").get_attribute("data-at") == f"{at}.000"
    page.fill("#filter", "ram rod")
    names = page.locator(".row").filter(visible=True).locator(".lane-name")
    assert names.nth(0).inner_text().split()[0] == "ram"
    assert names.nth(1).inner_text().split()[:2] == ["ram", "before"]
    expect(page.locator(".row .before").first).to_be_visible()
    expect(page.locator(".row").filter(visible=True).nth(1).locator(".state")).to_contain_text("out")


@pytest.mark.parametrize(("text", "says"), [
    ("", "no dry-run page"), ("<html></html>", "no dry-run page"), (BEGIN + "{" + END, "damaged"),
    (BEGIN + embedded([]) + END, "no dry-run page"),
    (BEGIN + embedded({"form": "prop-sequencer page", "version": 1}) + END, "version 1"),
    (BEGIN + embedded({"form": "prop-sequencer page", "version": 2}) + END, "damaged"),
    (BEGIN + b64encode(compress(b"[" * 100_000)).decode() + END, "damaged"), (BEGIN + "eJw" + END, "damaged"),
])
def test_what_is_no_page_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(NotAPage, match=says):
        read_page(text, "x.html")


DATA = data_of(PAGE)
JUNK = st.sampled_from([None, -1, 0, 1.5, 10**400, "x", [], {}, [1], [None], [[1]], True, {"a": 1}])


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_damaged_page_is_refused_or_compared_and_never_breaks(data: st.DataObject) -> None:
    value: dict[str, Any] = copy.deepcopy(DATA)
    place: Any = value
    for _ in range(data.draw(st.integers(1, 5))):
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            break
        key = data.draw(st.sampled_from(keys))
        if isinstance(place[key], dict | list) and place[key] and data.draw(st.booleans()):
            place = place[key]
            continue
        if data.draw(st.booleans()) and isinstance(place, dict):
            del place[key]
        else:
            place[key] = data.draw(JUNK)
        break
    try:
        other = read_page(BEGIN + embedded(value) + END, "x.html")
    except NotAPage:
        return
    assert isinstance(other, Other)
    compared(copy.deepcopy(DATA), other)
