"""Pages made of real shows, and a browser without a network in which a console error is a failure."""

from __future__ import annotations

import base64
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.pages.html.made import MARROW_LANE, page_of

CHROMIUM = shutil.which("chromium")
WITHOUT = ("These tests drive a browser, and there is no `chromium` on the path; install the package chromium of your "
           "system (apt-get install chromium).")
Open = Callable[[str], Page]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The system's Chromium; its sandbox does not start for root, and sound may begin without a finger on the screen.
    """
    if CHROMIUM is None:
        pytest.fail(WITHOUT, pytrace=False)
    args = ["--no-sandbox", "--autoplay-policy=no-user-gesture-required", "--disable-background-networking"]
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": args}


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_context_args, "offline": True, "viewport": {"width": 1280, "height": 800}}


@pytest.fixture
def opened(context: BrowserContext, tmp_path: Path) -> Iterator[Open]:
    """Opens the text of a page from the disk. Any request for anything else, and any error, fails the test."""
    wrong: list[str] = []

    def guard(route: Any) -> None:
        if route.request.url.startswith("file:"):
            route.continue_()
        else:
            wrong.append(f"asks for {route.request.url}")
            route.abort()

    context.route("**/*", guard)

    def open_page(text: str) -> Page:
        path = tmp_path / "page.html"
        path.write_text(text, encoding="utf-8")
        page = context.new_page()
        page.on("console", lambda message: wrong.append(message.text) if message.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("request", lambda request: None if request.url.startswith("file:") else wrong.append(request.url))
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready]", state="attached", timeout=10_000)
        return page

    yield open_page
    assert wrong == []


COLOURS = """async data => {
  const picture = new Image();
  picture.src = data;
  await picture.decode();
  const canvas = new OffscreenCanvas(picture.width, picture.height);
  const pen = canvas.getContext('2d');
  pen.drawImage(picture, 0, 0);
  const bytes = pen.getImageData(0, 0, picture.width, picture.height).data;
  const found = new Set();
  for (let at = 0; at < bytes.length; at += 4) found.add(bytes[at] << 16 | bytes[at + 1] << 8 | bytes[at + 2]);
  return [...found];
}"""


@pytest.fixture
def colours(context: BrowserContext) -> Callable[[bytes], set[tuple[int, int, int]]]:
    """The colours (red, green, blue) of a picture, which a blank page of the browser takes apart."""
    blank = context.new_page()

    def colours_of(png: bytes) -> set[tuple[int, int, int]]:
        data = f"data:image/png;base64,{base64.b64encode(png).decode('ascii')}"
        return {(one >> 16, one >> 8 & 255, one & 255) for one in blank.evaluate(COLOURS, data)}

    return colours_of


@cache
def _demo() -> str:
    return page_of(MARROW_LANE)


@pytest.fixture
def demo(opened: Open) -> Page:
    """Marrow Lane for 24 s and three visitors, with its sounds."""
    return opened(_demo())
