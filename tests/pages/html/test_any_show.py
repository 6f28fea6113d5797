"""Whatever a valid show holds and however short its run, there is a page of it that opens without an error."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import expect

from sequencer.data import folder
from sequencer.pages.html.page import make_page
from sequencer.pages.html.window import Window
from tests.generate.shows import random_show
from tests.pages.html.conftest import Open
from tests.pages.html.made import MARROW_LANE, Run, checked, data_of, lanes, page_of, sheet, timeline

SHOWS = folder("shows")
FEW = (Window(0, 1), Window(4_000, 4_001), Window(23_999, 24_000), Window(100, 119))
BARE = """show "Bare"
board box like avr328
lamp a: on box pwm0
scare b:
    0 s: a on
    1 s: a off
"""


def random_runs(count: int) -> list[Run]:
    """Random shows without sound that compile, each run for 20 s with its first sensors tripped."""
    found: list[Run] = []
    seed = 0
    while len(found) < count:
        seed += 1
        text = random_show(random.Random(seed), sound=False)
        bare = Run(f"random{seed}.show", Path(__file__).parent, text=text)
        if checked(bare).compiled is None:
            continue
        sensors = [placed.part.name for placed in checked(bare).show.of_kind("sensor")][:3]
        trips = tuple(f"{name}@{2 + 4 * number}s..{4 + 4 * number}s" for number, name in enumerate(sensors))
        one = Run(bare.name, bare.where, trips, 20_000, text=text)
        # What the air room cannot reckon with has no run, and so no page; that is for its own tests.
        with suppress(ValueError):
            timeline(one)
            found.append(one)
    return found


def test_random_shows_have_pages_that_open_and_play_through(opened: Open) -> None:
    for one in random_runs(6):
        page = opened(page_of(one, sound=False))
        for time in (0, 2_500, 7_000, 19_999):
            page.evaluate("at => { const p = document.getElementById('place'); p.value = at; "
                          "p.dispatchEvent(new Event('input')); }", time)
        page.keyboard.press("+")
        page.keyboard.press("n")
        page.close()


def test_many_random_shows_have_pages() -> None:
    for one in random_runs(25):
        data = data_of(page_of(one, sound=False))
        assert lanes(data) and data["end"] == 20_000
        for window in (Window(0, 1), Window(7_777, 7_778), Window(3_000, 9_000)):
            assert data_of(make_page(sheet(one, window=window)))["begin"] == window.begin


@pytest.mark.parametrize("window", FEW, ids=str)
def test_a_few_ticks_are_a_page_too(opened: Open, window: Window) -> None:
    page = opened(page_of(MARROW_LANE, sound=False, window=window))
    expect(page.locator("#place")).to_have_attribute("min", str(window.begin))
    for key in ("+", "-", "n", "p", ".", ",", "]", "End", " "):
        page.keyboard.press(key)


def test_a_show_in_which_nothing_happens_is_a_page_too(opened: Open) -> None:
    page = opened(page_of(Run("bare.show", SHOWS, (), 3_000, text=BARE)))
    expect(page.locator("h1")).to_have_text("Bare")
    for key in ("n", "p", "l", "t", " "):
        page.keyboard.press(key)
    expect(page.locator("#trip-who")).to_have_count(0)
