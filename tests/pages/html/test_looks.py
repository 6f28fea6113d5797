"""Looks and access: no finding of axe in any theme, nothing cut off, red alone at night, paper with the findings whole.

axe-core checks by the Web Content Accessibility Guidelines 2.2 (levels A and AA) and its own best practices.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from sequencer.pages.html.read_back import read_page
from tests.pages.html.conftest import Open
from tests.pages.html.made import LANE, MARROW_LANE, Run, checked, page_of
from tests.pages.html.test_compare import LATER
from tests.pages.html.test_playing import SEEK

Colours = Callable[[bytes], set[tuple[int, int, int]]]
THEMES = ("light", "dark", "night")
WIDTHS = (390, 1280)
FAST = Run("fast.show", LANE, ("step@1s",), 6_000, text="""show "Fast"
board box like avr328
sensor step "Mat <&> 'mat'" like mat: on box in0
lamp eyes like eyes_red: on box pwm0
scare strobe on step trips:
    0 s: eyes flashes 8 Hz for 2 s
    3 s: eyes off
""")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("theme", THEMES)
def test_axe_finds_nothing(demo: Page, theme: str, width: int) -> None:
    demo.set_viewport_size({"width": width, "height": 844})
    demo.click(f"[data-to-theme={theme}]")
    demo.evaluate(SEEK, 4000)
    demo.evaluate("document.activeElement.blur()")
    found = Axe().run(demo, options={"resultTypes": ["violations"]})
    assert found.response["violations"] == [], found.generate_report()


@pytest.mark.parametrize("theme", THEMES)
def test_axe_finds_nothing_in_the_caution(opened: Open, theme: str) -> None:
    page = opened(page_of(FAST))
    page.click(f"[data-to-theme={theme}]")
    page.click("#play")
    expect(page.locator("#caution")).to_be_visible()
    found = Axe().run(page, options={"resultTypes": ["violations"]})
    assert found.response["violations"] == [], found.generate_report()


@pytest.mark.parametrize("theme", THEMES)
def test_axe_finds_nothing_in_a_comparison(opened: Open, theme: str) -> None:
    text = page_of(LATER, sound=False, other=read_page(page_of(MARROW_LANE, sound=False), "earlier.html"))
    page = opened(text)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 844})
        page.click(f"[data-to-theme={theme}]")
        page.evaluate(SEEK, 4000)
        page.fill("#filter", "window")
        page.locator("#lanes").scroll_into_view_if_needed()
        expect(page.locator(".row .before").first).to_be_visible()
        assert page.locator("#changes tbody tr").count() > 5
        found = Axe().run(page, options={"resultTypes": ["violations"]})
        assert found.response["violations"] == [], found.generate_report()


@pytest.mark.parametrize("width", (390, 700, 1100, 1280, 1440, 1920))
def test_no_name_on_the_stage_breaks_within_a_word(demo: Page, width: int) -> None:
    demo.set_viewport_size({"width": width, "height": 844})
    broken = demo.evaluate("""() => [...document.querySelectorAll('.device .who')].filter(one => {
      const lines = document.createRange();
      lines.selectNodeContents(one);
      return one.checkVisibility() && lines.getClientRects().length > one.textContent.trim().split(/\\s+/).length;
    }).map(one => one.textContent)""")
    assert broken == []


@pytest.mark.parametrize("width", (360, 390, 700, 1100, 1280, 1920))
def test_nothing_hangs_over_the_edge(demo: Page, width: int) -> None:
    demo.set_viewport_size({"width": width, "height": 844})
    demo.wait_for_timeout(100)
    assert demo.evaluate("document.documentElement.scrollWidth") <= width
    over = demo.evaluate("""() => [...document.querySelectorAll('button, select, input, h1, h2, h3, .state, .who, td')]
      .filter(one => one.checkVisibility() && !one.closest('.scroll, .aside')).filter(one => {
        const edges = one.getBoundingClientRect();
        return edges.width && (edges.left < -1 || edges.right > innerWidth + 1 || one.scrollWidth > one.clientWidth + 2
          && getComputedStyle(one).display !== 'inline');
      }).map(one => one.outerHTML.slice(0, 120))""")
    assert over == []


@pytest.mark.parametrize("width", WIDTHS)
def test_what_is_pressed_is_44_pixels_or_more(demo: Page, width: int) -> None:
    demo.set_viewport_size({"width": width, "height": 844})
    small = demo.evaluate("""() => [...document.querySelectorAll('button, select, input')].map(one =>
        [one.closest('label') || one, one.id]).filter(([one]) => one.checkVisibility()).filter(([one]) => {
        const edges = one.getBoundingClientRect();
        return edges.width < 44 || edges.height < 43.9;
      }).map(([one, id]) => id || one.outerHTML.slice(0, 100))""")
    assert small == []


def test_text_is_large_enough_to_be_read_at_arms_length(demo: Page) -> None:
    """14 px at least in drawings, which at 96 px an inch is 3.7 mm: common practice, no source."""
    small = demo.evaluate("""() => [...document.querySelectorAll('body *')].filter(one =>
        one.checkVisibility() && [...one.childNodes].some(node => node.nodeType === 3 && node.textContent.trim()))
      .map(one => {
        const scale = one.closest('svg') ? one.getScreenCTM().a : 1;
        return [parseFloat(getComputedStyle(one).fontSize) * scale, one.outerHTML.slice(0, 80)];
      }).filter(([size]) => size < 13)""")
    assert small == []


@pytest.mark.parametrize("width", WIDTHS)
def test_at_night_nothing_but_red_is_lit(demo: Page, width: int, colours: Colours) -> None:
    demo.set_viewport_size({"width": width, "height": 844})
    demo.click("[data-to-theme=night]")
    demo.evaluate(SEEK, 4000)
    demo.focus("#filter")
    places = demo.evaluate("document.documentElement.scrollHeight")
    for top in range(0, places, 844):
        demo.evaluate("top => scrollTo(0, top)", top)
        demo.wait_for_timeout(60)
        for red, green, blue in colours(demo.screenshot()):
            assert max(green, blue) <= 0.7 * red + 8, (red, green, blue, top)


def test_without_a_wish_for_motion_nothing_beats(demo: Page) -> None:
    demo.emulate_media(reduced_motion="reduce")
    demo.evaluate(SEEK, 4000)
    assert demo.evaluate("document.getAnimations().length") == 0


@pytest.mark.parametrize("theme", THEMES)
def test_paper_is_black_on_white_with_every_finding_and_lane(demo: Page, tmp_path: Path, theme: str) -> None:
    demo.click(f"[data-to-theme={theme}]")
    findings = demo.locator("#findings tbody tr").count()
    messages = demo.locator("#findings td:nth-child(3) p").all_text_contents()
    pdf = tmp_path / "page.pdf"
    demo.pdf(path=str(pdf), format="A4", print_background=True)
    words = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    plain = " ".join(words.split())
    assert findings >= len(checked(MARROW_LANE).findings) >= 5
    for message in messages:
        assert [word for word in message.split() if word not in plain] == []
    for name in ("mushroom", "riser", "yard_horn", "growl"):
        assert name in plain
    assert "Play" not in plain.split()
    image = tmp_path / "paper"
    subprocess.run(["pdftoppm", "-r", "40", str(pdf), str(image)], check=True)
    for picture in sorted(tmp_path.glob("paper-*.ppm")):
        coloured = [one for one in set(ppm(picture.read_bytes())) if max(one) - min(one) > 40]
        assert coloured == []
    expect(demo.locator("#play")).to_be_visible()


def ppm(data: bytes) -> list[tuple[int, int, int]]:
    """The pixels of a binary portable pixmap."""
    body = data.split(b"\n", 3)[3] if not data.split(b"\n")[1].startswith(b"#") else data.split(b"\n", 4)[4]
    return list(zip(body[::3], body[1::3], body[2::3], strict=True))


def test_each_drawing_says_what_it_shows(demo: Page) -> None:
    says = demo.locator("svg[role=img]").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
    assert all(says)
    assert any("window.ram: double-acting cylinder, bore 1-1/2 in, stroke 10 in" in one for one in says)
    assert "step: tripped once" in says


def test_the_page_of_marrow_lane_is_the_same_in_both_schemes_of_the_system(opened: Open) -> None:
    page = opened(page_of(MARROW_LANE, sound=False))
    page.emulate_media(color_scheme="dark")
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
