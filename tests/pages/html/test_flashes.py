"""Fast flashes by WCAG 2.2, success criterion 2.3.1: more than three in any one second, and only those."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import expect

from sequencer.pages.html.flashes import MOST, beginnings, fast_flashes, summed, too_fast, worst_of
from tests.pages.html.conftest import Open
from tests.pages.html.made import LANE, Run, page_of, timeline
from tests.pages.html.test_looks import FAST
from tests.pages.html.test_playing import SEEK


def square(hertz: float, seconds: float, low: float = 0.0, high: float = 1.0) -> list[tuple[float, float]]:
    half, corners, level = 500 / hertz, [(0.0, low)], low
    for number in range(int(2 * hertz * seconds)):
        tick = number * half
        corners += [(tick, level), (tick, high if level == low else low)]
        level = corners[-1][1]
    return corners


@pytest.mark.parametrize(("hertz", "many"), [(1, False), (2, False), (3, False), (3.5, True), (8, True), (25, True)])
def test_three_a_second_pass_and_more_do_not(hertz: float, many: bool) -> None:
    assert bool(too_fast(beginnings(square(hertz, 3)))) is many


def test_a_change_below_a_tenth_or_above_bright_is_none() -> None:
    assert beginnings(square(8, 1, 0.50, 0.59)) == []
    assert beginnings(square(8, 1, 0.85, 1.0)) == []
    assert len(beginnings(square(8, 1, 0.5, 0.65))) == 8


def test_two_lamps_in_turn_are_as_bright_together_and_in_step_flash_together() -> None:
    one = [(tick, 255 * level) for tick, level in square(2, 2)]
    other = [(tick, 255 * (1 - level)) for tick, level in square(2, 2)]
    assert beginnings(summed([one, other])) == []
    assert len(beginnings(summed([one, one]))) == 4


@given(st.lists(st.integers(0, 20_000), max_size=40).map(sorted))
def test_a_stretch_holds_more_than_three_in_some_second_and_none_outside_does(begins: list[int]) -> None:
    found = too_fast(begins)
    for first in begins:
        within = [one for one in begins if first <= one < first + 1000]
        inside = any(begin <= first and within[-1] <= end for begin, end, _ in found)
        assert inside or len(within) <= MOST
    for begin, end, most in found:
        assert most > MOST and begin <= end


def test_a_strobe_is_found_with_its_rate_and_its_mean() -> None:
    found = fast_flashes(timeline(FAST))
    (one,) = found["eyes"]
    assert (one.most, round(one.level, 1)) == (8, 0.5)
    assert worst_of(found) == ("eyes", one)
    slow = Run("slow.show", LANE, ("step@1s",), 6_000, text=(FAST.text or "").replace("8 Hz", "3 Hz"))
    assert fast_flashes(timeline(slow)) == {}


def test_before_a_strobe_is_played_the_caution_stands_and_stillness_is_the_first_choice(opened: Open) -> None:
    page = opened(page_of(FAST))
    page.click("#play")
    caution = page.locator("#caution")
    expect(caution).to_contain_text("eyes flashes 8 times in one second at 1.05 s; the limit is 3")
    expect(caution).to_contain_text("Fast flashing can bring on a seizure")
    expect(page.locator("#play")).to_have_text("Play")
    expect(page.locator("#play-still")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#play")).to_have_text("Pause")
    page.click("#play")
    glows = set()
    for time in range(1100, 2800, 31):
        page.evaluate(SEEK, time)
        glows.add(page.locator(".device.lamp .glow").evaluate("one => one.style.opacity"))
    assert len(glows) == 1
    expect(page.locator(".device.lamp .state")).to_have_text("about 50 %, flashes 8 in 1 s")
    page.uncheck("#still")
    page.evaluate(SEEK, 1100)
    assert page.locator(".device.lamp .glow").evaluate("one => one.style.opacity") in ("0", "1")


def test_the_caution_can_be_left_without_playing(opened: Open) -> None:
    page = opened(page_of(FAST))
    page.click("#play")
    page.keyboard.press("Escape")
    expect(page.locator("#caution")).to_be_hidden()
    expect(page.locator("#play")).to_have_text("Play")
    page.click("#play")
    page.click("#play-not")
    expect(page.locator("#play")).to_have_text("Play")
    page.click("#play")
    page.click("#play-flashing")
    expect(page.locator("#still")).not_to_be_checked()
    expect(page.locator("#play")).to_have_text("Pause")
