"""Playing in the browser: the rod stands where the JSON form says, the keys and buttons do what they say."""

from __future__ import annotations

import math
import random
import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sequencer.air.mechanism.build import mechanism_of
from sequencer.dryrun.as_json import as_object
from sequencer.schedule.supply import driven_by
from tests.pages.html.conftest import Open
from tests.pages.html.made import LANE, MARROW_LANE, Run, at, checked, page_of, timeline

SHOW = checked(MARROW_LANE).show
SWUNG = {one.part.cylinder for one in SHOW.of_kind("lever", "fourbar", "scissor")}
"""Cylinders that turn or that others than their rod stand for: the place of their rod is no share of a straight way, so
what they drive is looked at instead (`test_what_a_rod_drives...`)."""
MOTIONS = {motion["cylinder"]: [(us / 1000, share) for us, share in motion["points"]]
           for motion in as_object(timeline(MARROW_LANE))["motions"] if motion["cylinder"] not in SWUNG}
EVERY = Run("marrow_lane.show", LANE,
            ("seat@1s", "gate@2s", "counter@3s", "stair@4s", "latch@5s", "cord@6s", "step@14s"), 24_000)
"""A run in which every linkage of the show moves."""

DRAWN = """name => {
  const rod = [...document.querySelectorAll('[data-rod]')].find(body => body.dataset.rod === name);
  const [xs, ys] = rod.dataset.poses.split(';').map(row => row.split(',').map(Number));
  const [x0, y0, x1, y1] = [xs[0], ys[0], xs.at(-1), ys.at(-1)];
  const [x, y] = /translate\\(([-\\d.]+) ([-\\d.]+)\\)/.exec(rod.getAttribute('transform')).slice(1).map(Number);
  return Math.hypot(x - x0, y - y0) / Math.hypot(x1 - x0, y1 - y0);
}"""
LINKED = """says => {
  const machine = [...document.querySelectorAll('.machine')].find(one => one.getAttribute('aria-label').includes(says));
  const body = machine.querySelector('[data-rod] .load').parentNode;
  const [xs, ys, turns] = body.dataset.poses.split(';').map(row => row.split(',').map(Number));
  const at = /translate\\(([-\\d.]+) ([-\\d.]+)\\)(?: rotate\\(([-\\d.]+)\\))?/.exec(body.getAttribute('transform'));
  const [x, y, turn] = at.slice(1).map(value => Number(value || 0));
  const far = Math.hypot(xs.at(-1) - xs[0], ys.at(-1) - ys[0]);
  return { turned: turns[0] - turn, gone: Math.hypot(x - xs[0], y - ys[0]) / far };
}"""
"""By how many degrees the end of a linkage is drawn turned since home, and which share of its whole way it has gone."""
SEEK = """time => {
  const place = document.getElementById('place');
  place.value = time;
  place.dispatchEvent(new Event('input'));
}"""


BOTH = """() => new Promise(tell => requestAnimationFrame(() => requestAnimationFrame(() =>
  tell([performance.now(), Number(document.getElementById('lanes').dataset.at)]))))"""
"""The clock and the moment drawn, both of one frame: this comes behind the page's own callback."""


def press(page: Page, key: str) -> None:
    """A key with nothing in focus."""
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press(key)


def moment(page: Page) -> float:
    """What the page shows as its moment, in ms."""
    return float(page.locator("#lanes").get_attribute("data-at") or "nan")


def test_the_rod_is_drawn_where_the_json_form_says_at_20_times(demo: Page) -> None:
    draws = random.Random(20)
    times = [3_900, 4_000, 4_100, *(draws.randrange(24_000) for _ in range(17))]
    moving = 0
    for time in times:
        demo.evaluate(SEEK, time)
        for name, points in MOTIONS.items():
            share = at(points, time)
            moving += 0.01 < share < 0.99
            assert abs(demo.evaluate(DRAWN, name) - share) <= 0.005, (name, time)
    assert moving >= 5


def test_what_a_rod_drives_is_drawn_where_the_mechanism_says_at_20_times(opened: Open) -> None:
    page = opened(page_of(EVERY, sound=False))
    draws, turning = random.Random(8), {one.part.name for one in SHOW.of_kind("lever", "fourbar")}
    linked = {one.part.name for one in SHOW.of_kind("lever", "fourbar", "scissor", "rope", "slide")}
    moved: dict[str, set[float]] = {}
    for motion in as_object(timeline(EVERY))["motions"]:
        cylinder, points = motion["cylinder"], [(us / 1000, share) for us, share in motion["points"]]
        parts = driven_by(SHOW.parts, cylinder)
        built = mechanism_of(SHOW.parts[cylinder].part, parts)
        going = [draws.uniform(one["leaves"], one["ends"]) for one in (motion["movements"] * 14)[:14]]
        times = [*going, *(draws.uniform(0, 24_000) for _ in range(20 - len(going)))]
        for time in (round(one) for one in times):
            page.evaluate(SEEK, time)
            home, now = built.ends_at(0.0), built.ends_at(at(points, time) * built.out_m)
            whole = built.ends_at(built.out_m)
            for part in linked & set(now):
                drawn = page.evaluate(LINKED, f", {part}")
                if part in turning:
                    off = drawn["turned"] - math.degrees(now[part].angle_rad - home[part].angle_rad)
                    assert abs(math.remainder(off, 360)) <= 0.6, (part, time, drawn)
                else:
                    assert abs(drawn["gone"] - now[part].travel_m / whole[part].travel_m) <= 0.01, (part, time)
                moved.setdefault(part, set()).add(round(now[part].travel_m / whole[part].travel_m, 1))
    assert set(moved) == linked
    assert sum(len(shares) >= 4 for shares in moved.values()) >= len(linked) - 2


def test_a_valve_shows_the_square_in_force_at_its_ports_and_the_pipe_that_it_feeds(demo: Page) -> None:
    squares, pipes = demo.locator("[data-valve='window.shove']"), demo.locator("[data-pipe='window.shove']")
    for time, way in ((3_000, "home"), (4_500, "out"), (7_000, "home")):
        demo.evaluate(SEEK, time)
        place = squares.get_attribute(f"data-{way}")
        expect(squares).to_have_attribute("transform", f"translate({place} 0)")
        assert pipes.evaluate_all("all => all.filter(one => one.classList.contains('fed')).map(one => one.dataset.fed)"
                                  ) == [way]


def test_it_plays_at_the_speed_it_says_and_pauses(demo: Page) -> None:
    demo.click("#play")
    expect(demo.locator("#play")).to_have_text("Pause")
    first, before = demo.evaluate(BOTH)
    demo.wait_for_timeout(700)
    second, after = demo.evaluate(BOTH)
    assert abs((after - before) - (second - first)) < 60
    demo.click("#play")
    expect(demo.locator("#play")).to_have_text("Play")
    stood = moment(demo)
    demo.wait_for_timeout(150)
    assert moment(demo) == stood
    demo.select_option("#speed", "4")
    demo.click("#play")
    first, before = demo.evaluate(BOTH)
    demo.wait_for_timeout(500)
    second, after = demo.evaluate(BOTH)
    assert abs((after - before) / (second - first) - 4) < 0.4


def test_it_stops_at_the_end_and_begins_again_from_there(demo: Page) -> None:
    demo.evaluate(SEEK, 23_900)
    demo.click("#play")
    expect(demo.locator("#play")).to_have_text("Play", timeout=3000)
    assert moment(demo) == 24_000
    demo.click("#play")
    demo.wait_for_timeout(100)
    assert moment(demo) < 2000


BUTTONS: list[tuple[str, str, Any]] = [
    ("#forward", ".", lambda before, after: after == before + 1),
    ("#back", ",", lambda before, after: after == before - 1),
    ("#cue-after", "n", lambda before, after: after == 3610),
    ("#cue-before", "p", lambda before, after: after == 3010),
]


@pytest.mark.parametrize(("button", "key", "right"), BUTTONS, ids=[row[0] for row in BUTTONS])
def test_each_step_by_pointer_and_by_key(demo: Page, button: str, key: str, right: Any) -> None:
    demo.evaluate(SEEK, 3300)
    demo.click(button)
    assert right(3300, moment(demo))
    demo.evaluate(SEEK, 3300)
    press(demo, key)
    assert right(3300, moment(demo))
    demo.evaluate(SEEK, 3300)
    demo.focus(button)
    demo.keyboard.press("Enter")
    assert right(3300, moment(demo))


def test_a_step_to_a_cue_is_read_out(demo: Page) -> None:
    demo.evaluate(SEEK, 3_700)
    press(demo, "n")
    expect(demo.locator("#told")).to_have_text("3.790 s: marrow_lane.show:28  1.20 s:   ram lands out")


def test_space_plays_and_pauses_and_a_button_keeps_its_own_space(demo: Page) -> None:
    press(demo, " ")
    expect(demo.locator("#play")).to_have_text("Pause")
    press(demo, " ")
    expect(demo.locator("#play")).to_have_text("Play")
    demo.focus("#play")
    demo.keyboard.press(" ")
    expect(demo.locator("#play")).to_have_text("Pause")


def test_home_end_and_arrows_on_the_slider(demo: Page) -> None:
    press(demo, "End")
    assert moment(demo) == 24_000
    press(demo, "Home")
    assert moment(demo) == 0
    demo.focus("#place")
    demo.keyboard.press("ArrowRight")
    assert moment(demo) == 1


def test_zoom_to_a_tick_and_pan_by_pointer_and_key(demo: Page) -> None:
    demo.evaluate(SEEK, 4000)
    for _ in range(12):
        press(demo, "+")
    expect(demo.locator("#span")).to_have_text("3.997 s to 4.017 s")
    assert demo.locator("#axis text").all_text_contents() == ["4.000 s", "4.005 s", "4.010 s", "4.015 s"]
    demo.click("#left")
    expect(demo.locator("#span")).to_have_text("3.987 s to 4.007 s")
    press(demo, "]")
    expect(demo.locator("#span")).to_have_text("3.997 s to 4.017 s")
    demo.click("#zoom-out")
    demo.click("#fit")
    expect(demo.locator("#span")).to_have_text("0.000 s to 24.000 s")
    expect(demo.locator("#zoom-out")).to_be_disabled()


def test_a_drag_moves_the_head_and_a_wheel_zooms(demo: Page) -> None:
    plot = demo.locator("#timeline .axis .plot")
    edges = plot.bounding_box()
    assert edges is not None
    y = edges["y"] + edges["height"] / 2
    demo.mouse.move(edges["x"] + edges["width"] * 0.25, y)
    demo.mouse.down()
    demo.mouse.move(edges["x"] + edges["width"] * 0.5, y, steps=4)
    demo.mouse.up()
    assert abs(moment(demo) - 12_000) <= 24_000 / edges["width"] + 1
    demo.mouse.move(edges["x"] + 20, y + 120)
    demo.keyboard.down("Control")
    demo.mouse.wheel(0, -200)
    demo.keyboard.up("Control")
    expect(demo.locator("#zoom-out")).to_be_enabled()


def test_while_it_plays_the_view_follows(demo: Page) -> None:
    for _ in range(6):
        press(demo, "+")
    said = demo.locator("#span").text_content()
    demo.select_option("#speed", "4")
    demo.click("#play")
    demo.wait_for_timeout(600)
    demo.click("#play")
    assert demo.locator("#span").text_content() != said
    expect(demo.locator("#head")).to_be_visible()


def test_a_cue_leads_to_its_line_and_the_line_back_to_the_cue(demo: Page) -> None:
    demo.evaluate(SEEK, 3700)
    press(demo, "n")
    expect(demo.locator("#now")).to_contain_text("1.20 s:   ram lands out")
    press(demo, "l")
    line = demo.locator(".source li.chosen")
    expect(line).to_contain_text("ram lands out")
    expect(line).to_be_in_viewport()
    demo.evaluate(SEEK, 20_000)
    expect(line).not_to_contain_text("ram lands out")
    demo.locator(".source li", has_text="1.20 s:   ram lands out").locator("button").click()
    assert moment(demo) == 3790
    expect(demo.locator("#timeline")).to_be_in_viewport()


def test_while_it_plays_the_line_of_the_last_cue_is_shown(demo: Page) -> None:
    for time, says in ((3_800, "ram lands out"), (5_100, "ram retracts"), (3_500, "throat plays growl")):
        demo.evaluate(SEEK, time)
        expect(demo.locator("#now")).to_contain_text(says)
        expect(demo.locator(".source li.chosen")).to_contain_text(says)
    demo.evaluate(SEEK, 4_900)
    demo.click("#play")
    expect(demo.locator("#now")).to_contain_text("ram retracts")


def test_a_press_on_a_lane_chooses_the_cue_of_that_device(demo: Page) -> None:
    row = demo.locator(".row.k-rod", has=demo.locator("b", has_text="ram")).locator(".plot")
    row.evaluate("one => one.scrollIntoView({ block: 'center' })")
    edges = row.bounding_box()
    assert edges is not None
    demo.mouse.click(edges["x"] + edges["width"] * 3_790 / 24_000, edges["y"] + 8)
    expect(demo.locator("#now")).to_contain_text("ram lands out")
    expect(demo.locator(".source li.chosen")).to_be_in_viewport()
    assert moment(demo) == 3790


def test_lanes_are_folded_and_filtered(demo: Page) -> None:
    rows = demo.locator(".row")
    many = rows.count()
    demo.click("#fold")
    assert rows.filter(visible=True).count() == 0
    demo.click("#unfold")
    assert rows.filter(visible=True).count() == many
    signalman = demo.get_by_role("button", name=re.compile(r"^\W*The drowned signalman"))
    signalman.click()
    assert rows.filter(visible=True).count() == many - 4
    signalman.press("Enter")
    # The lever frame has it in its name.
    demo.fill("#filter", "ram")
    left = rows.filter(visible=True).locator("b").all_text_contents()
    assert set(left) == {"ram", "mat", "pound", "row", "kick", "bar", "ram pressure", "bar pressure"}
    expect(demo.locator("#left-over")).to_contain_text(f"of {many} lanes")
    demo.fill("#filter", "drowned rod")
    assert rows.filter(visible=True).locator("b").all_text_contents() == ["ram"]


def test_letters_can_be_taken_from_the_keys(demo: Page) -> None:
    demo.evaluate(SEEK, 3300)
    demo.uncheck("#letters")
    press(demo, "n")
    assert moment(demo) == 3300
    demo.focus("#filter")
    demo.keyboard.type("n.")
    assert moment(demo) == 3300


def test_a_trip_put_on_the_axis_gives_the_command_that_dry_runs_it(demo: Page) -> None:
    run = ("sequencer dryrun marrow_lane.show --trip step@3s --trip mat@10s --trip cord@17s "
           f"--seed {MARROW_LANE.seed} --for 24s --page page.html")
    expect(demo.locator("#command")).to_have_text(run)
    demo.evaluate(SEEK, 12_345)
    demo.select_option("#trip-who", "step")
    demo.click("#trip-here")
    expect(demo.locator("#command")).to_have_text(run.replace("--trip cord", "--trip step@12345ms --trip cord"))
    demo.locator(".row", has=demo.locator("b", has_text="step")).scroll_into_view_if_needed()
    expect(demo.locator(".mark-trip")).to_have_count(1)
    demo.fill("#trip-long", "1.5 s")
    demo.locator("#trip-who").select_option("mat")
    press(demo, "t")
    expect(demo.locator("#command")).to_contain_text("--trip mat@12345ms..13845ms")
    demo.get_by_role("button", name="Remove step at 12.345 s").click()
    expect(demo.locator("#command")).not_to_contain_text("step@12345ms")
    demo.fill("#trip-long", "soon")
    demo.click("#trip-here")
    expect(demo.locator("#told")).to_contain_text("as a time")


def test_everything_that_can_be_pressed_is_reached_with_the_tab_key(demo: Page) -> None:
    wanted = demo.evaluate("""() => [...document.querySelectorAll(
      'button:not(:disabled), select, input, a[href], [tabindex="0"]')]
      .filter(one => one.checkVisibility()).map((one, at) => { one.dataset.stop = at; return at; })""")
    seen = set()
    press(demo, "Tab")
    for _ in range(len(wanted) + 5):
        stop = demo.evaluate("document.activeElement.dataset.stop ?? null")
        if stop is not None:
            seen.add(int(stop))
        demo.keyboard.press("Tab")
    assert seen == set(wanted)
