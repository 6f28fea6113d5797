"""The dry-run page: bytes, time to make, time to open, frames a second while it plays, sound beside the motion.

Run it: python tests/bench/page.py. The demands: Marrow Lane without sound at most 150 kB; ten minutes of twenty props
at most 1.5 MB, made within 2 s after the dry run, opened within 1 s, 30 frames a second while playing.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import Browser, CDPSession, sync_playwright  # noqa: E402

from tests.pages.html.conftest import CHROMIUM, WITHOUT  # noqa: E402
from tests.pages.html.made import MARROW_LANE, Run, checked, page_of, timeline  # noqa: E402

PROPS, TICKS, SECONDS = 20, 600_000, 5
WIDTHS = ((1280, 800), (390, 844))

HEAD = """show "Twenty props"
compressor shed like compressor_20_gal
line yard from shed: tube 3/8 in, length 50 ft
manifold bench on yard: ports 24
board box like host
sensor mushroom like stop_mushroom: on box in0
stop on mushroom trips: p0.ram retracts
"""
PROP = """
prop p{n} "Prop number {n}":
    air from bench port {port}, tube 3/8 in, length 12 ft, regulator 60 psi
    reach none
    valve shove like valve_5_2_quarter: on box out{out}, conductance 2.6 dm3/s/bar
    cylinder ram like cylinder_round_1_1_2_in:
        on shove
        stroke 12 in, moves 9 lb
        needle out 90 %, needle back 60 %
    lamp eyes: on box {lamp}
    pump spit: on box out{second}
    scare lunge every 20 s to 40 s:
        0 s:      eyes {shine} for 2 s
        1.2 s:    ram lands out, spit runs for 500 ms
        +800 ms:  ram retracts
        then:     eyes off
"""

BREATHES = """    idle breathing:
        0 s:                     eyes to 12 % over 2 s
        then:                    eyes to 0 % over 2 s
        then +300 ms to 900 ms:  eyes off
"""
FADING = 16
"""Outputs of the board that fade; the lamps beyond them only flash."""

FRAMES = """seconds => new Promise(tell => {
  const times = [];
  const count = time => {
    times.push(time);
    if (time - times[0] < seconds * 1000) requestAnimationFrame(count); else tell(times);
  };
  requestAnimationFrame(count);
})"""


def twenty_props() -> Run:
    text = HEAD
    for n in range(PROPS):
        fades = n < FADING
        lamp = f"pwm{n}" if fades else f"out{2 * PROPS + n - FADING}"
        shine = "flickers 20 % to 80 %" if fades else "flashes 3 Hz"
        text += PROP.format(n=n, port=n + 1, out=2 * n, second=2 * n + 1, lamp=lamp, shine=shine)
        text += BREATHES if fades else ""
    return Run("twenty.show", ROOT, (), TICKS, text=text)


def work_s(devtools: CDPSession) -> float:
    """Seconds of processor time that the page's thread has used, whatever else the machine does meanwhile."""
    metrics = {one["name"]: one["value"] for one in devtools.send("Performance.getMetrics")["metrics"]}
    return float(metrics["TaskDuration"])


def measure(browser: Browser, name: str, text: str, demand: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        path.write_text(text, encoding="utf-8")
        for width, height in WIDTHS:
            context = browser.new_context(viewport={"width": width, "height": height}, offline=True)
            opens, works, frames = [], [], []
            for _ in range(3):
                page = context.new_page()
                devtools = context.new_cdp_session(page)
                devtools.send("Performance.enable", {"timeDomain": "threadTicks"})
                before = work_s(devtools)
                begin = time.perf_counter()
                page.goto(path.as_uri())
                page.wait_for_selector("html[data-ready]", state="attached")
                opens.append(time.perf_counter() - begin)
                works.append(work_s(devtools) - before)
                for _ in range(4):
                    page.keyboard.press("+")
                page.click("#play")
                if page.locator("#play-still").count() and page.locator("#play-still").is_visible():
                    page.click("#play-still")
                times = page.evaluate(FRAMES, SECONDS)
                gaps = [late - early for early, late in pairwise(times)]
                frames.append((len(gaps) / (times[-1] - times[0]) * 1000, max(gaps)))
                page.close()
            rate = statistics.median(rate for rate, _ in frames)
            worst = statistics.median(gap for _, gap in frames)
            print(f"{name}, {width} px wide: opened in {statistics.median(opens):.2f} s (demand {demand}; "
                  f"{statistics.median(works):.2f} s of it the page's own work), "
                  f"{rate:.0f} frames a second while playing, longest gap {worst:.0f} ms (demand 30 a second)")
            context.close()


def main() -> None:
    if CHROMIUM is None:
        raise SystemExit(WITHOUT)
    quiet = page_of(MARROW_LANE, sound=False)
    print(f"Marrow Lane, 24 s, without sound: {len(quiet.encode()) / 1000:.1f} kB (demand 150)")
    print(f"Marrow Lane, 24 s, with sound: {len(page_of(MARROW_LANE).encode()) / 1000:.1f} kB")
    big = twenty_props()
    assert checked(big).compiled is not None, [one.message for one in checked(big).findings]
    run = timeline(big)
    made = []
    for _ in range(5):
        begin = time.perf_counter()
        text = page_of(big, sound=False)
        made.append(time.perf_counter() - begin)
    print(f"{PROPS} props, {TICKS // 60_000} min, {len(run.edges)} edges, {len(run.trail)} steps: "
          f"{len(text.encode()) / 1e6:.2f} MB (demand 1.5), made in {statistics.median(made):.2f} s (demand 2)")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        measure(browser, "Marrow Lane", quiet, "1 s")
        measure(browser, f"{PROPS} props", text, "1 s")
        browser.close()


if __name__ == "__main__":
    main()
