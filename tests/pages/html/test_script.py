"""The page's own functions, asked in the browser one by one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser

from sequencer.pages.html.document import asset
from sequencer.pages.html.embedded import embedded

PURE = ("decode", "clock", "axis", "states", "source", "trips", "stage")
Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def ask(browser: Browser) -> Ask:
    """Evaluates an expression beside the files of the script that draw nothing."""
    page = browser.new_page()
    page.add_script_tag(content="\n".join(asset(f"{name}.js") for name in PURE))
    return lambda expression, value=None: page.evaluate(expression, value)


def test_stretches_and_what_holds_a_moment(ask: Ask) -> None:
    assert ask("spansOf([100, 50, 1, 10, 40, 0], 3)") == [
        {"begin": 100, "end": 150, "more": [1]}, {"begin": 160, "end": 200, "more": [0]}]
    assert ask("[99, 100, 149, 150, 160, 200].map(time => spanAt(spansOf([100, 50, 1, 10, 40, 0], 3), time)?.begin)") \
        == [None, 100, 100, None, 160, None]
    assert ask("[20, 30].map(end => spansWithin(spansOf([0, 5, 10, 5, 10, 5], 2), 7, end).length)") == [1, 2]


def test_a_curve_and_its_value_at_any_moment(ask: Ask) -> None:
    curve = "curveOf([0, 0, 1000, 4000, 500, 0], 0.00025)"
    assert ask(f"[-5, 0, 50, 100, 120, 900].map(time => valueAt({curve}, time))") == [0, 0, 0.5, 1, 1, 1]
    assert ask("valueAt(curveOf([], 1), 5)") == 0


def test_levels_follow_fades_and_jump_where_an_edge_does(ask: Ask) -> None:
    """Off; at 100 to 255 over 200, taken over at 200 (half way) by 0 at once; at 300 full."""
    levels = "levelsOf([0, 0, 0, 100, 255, 200, 100, 0, 0, 100, 255, 0], 1000)"
    found = ask(f"[50, 100, 150, 199.999, 200, 299, 300, 999].map(time => valueAt({levels}, time))")
    assert [round(one, 4) for one in found] == [0, 0, 0.25, 0.5, 0, 0, 1, 1]


def test_a_fade_at_the_start_begins_at_what_stood_before(ask: Ask) -> None:
    levels = "levelsOf([0, 100, 0, 0, 255, 100], 1000)"
    found = ask(f"[0, 50, 100].map(time => valueAt({levels}, time) * 255)")
    assert [round(one, 2) for one in found] == [100, 177.5, 255]


def test_the_clock_keeps_to_the_run_and_to_whole_ticks(ask: Ask) -> None:
    found = ask("""() => {
      let now = 10;
      const clock = makeClock(() => now, 0, 5000), seen = [];
      clock.play(); now += 1.5; seen.push(clock.read());
      clock.setSpeed(0.5); now += 1; seen.push(clock.read());
      clock.seek(100.4); now += 1; seen.push(clock.read());
      clock.follow(() => now * 2); now += 0.25; seen.push(clock.read());
      clock.pause(); now += 9; seen.push(clock.read(), clock.playing);
      clock.seek(-7); seen.push(clock.at);
      clock.seek(9e9); seen.push(clock.at); clock.play(); seen.push(clock.at);
      now += 99; seen.push(clock.read(), clock.playing);
      return seen;
    }""")
    assert found == [1500, 2000, 600, 850, 850, False, 0, 5000, 0, 5000, False]


def test_moments_of_the_axis_are_round_and_labels_have_the_figures_they_need(ask: Ask) -> None:
    assert ask("gapOf({begin: 0, end: 24000}, 600, 90)") == 5000
    assert ask("momentsOf({begin: 3997, end: 4017}, 5)") == [4000, 4005, 4010, 4015]
    assert ask("[labelOf(4005, 5), labelOf(2500, 500), labelOf(90000, 30000), labelOf(12000, 2000)]") == [
        "4.005 s", "2.5 s", "1:30 min", "12 s"]
    assert ask("[sayTime(3790), sayTime(123790)]") == ["3.790 s", "2:03.790"]


def test_a_view_stays_within_the_run_and_never_shows_less_than_20_ticks(ask: Ask) -> None:
    run = "{begin: 0, end: 1000}"
    assert ask(f"zoomed({{begin: 0, end: 1000}}, 0.5, 250, {run})") == {"begin": 125, "end": 625}
    assert ask(f"zoomed({{begin: 0, end: 30}}, 0.01, 15, {run})") == {"begin": 5, "end": 25}
    assert ask(f"zoomed({{begin: 900, end: 1000}}, 100, 950, {run})") == {"begin": 0, "end": 1000}
    assert ask(f"panned({{begin: 900, end: 1000}}, 0.5, {run})") == {"begin": 900, "end": 1000}
    assert ask(f"following({{begin: 0, end: 100}}, 500, {run})") == {"begin": 495, "end": 595}
    assert ask("fitted(0, 5, {begin: 0, end: 8})") == {"begin": 0, "end": 8}


def test_cues_are_found_by_time_device_and_line(ask: Ask) -> None:
    data = {"marks": [10, 0, 5, 1, 85, 0], "places": [{"file": 0, "line": 4, "who": "a"},
                                                     {"file": 0, "line": 9, "who": "b"}]}
    assert ask("data => cuesOf(data)", data) == {"times": [10, 15, 100], "places": [0, 1, 0]}
    assert ask("""data => [[13, ''], [13, 'a'], [50, '']].map(
        ([time, who]) => cueNear(cuesOf(data), data, time, 5, who))""", data) == [1, 0, -1]
    assert ask("""data => [[4, 5], [4, 50], [4, 500], [5, 0]].map(
        ([line, time]) => cueOfLine(cuesOf(data), data, 0, line, time))""", data) == [0, 2, 0, -1]
    assert ask("data => { const cues = cuesOf(data); return [nextCue(cues, 10), lastCue(cues, 15), nextCue(cues, 100),"
               " lastCue(cues, 10)]; }", data) == [15, 10, None, None]


def test_a_command_is_quoted_for_a_shell_and_long_enough_for_its_trips(ask: Ask) -> None:
    run = {"file": "my show's.show", "seed": 7, "ticks": 24000, "cold": True, "page": "a.html", "usual": 200}
    trips = [{"sensor": "mat", "begin": 20500, "end": 31000}, {"sensor": "step", "begin": 3000, "end": 3200}]
    assert ask("([run, trips]) => commandOf(run, trips)", [run, trips]) == (
        "sequencer dryrun 'my show'\\''s.show' --trip step@3s --trip mat@20500ms..31s --seed 7 --for 41s --cold "
        "--page a.html")
    assert ask("shellWord('$(reboot)')") == "'$(reboot)'"


def test_a_body_goes_evenly_from_pose_to_pose_and_the_short_way_round(ask: Ask) -> None:
    poses = "[[0, 0, 350, 1], [10, 20, 10, 2], [10, 0, 30, 2]]"
    assert ask(f"poseAt({poses}, 0.25)") == [5, 10, 360, 1.5]
    assert ask(f"poseAt({poses}, 1)") == [10, 0, 30, 2]
    assert ask(f"poseAt({poses}, 7)") == [10, 0, 30, 2]
    assert ask("transformOf([1, 2, 30, 1])") == "translate(1.00 2.00) rotate(30.00)"


def test_poses_are_read_column_by_column(ask: Ask) -> None:
    assert ask("posesOf('15,71;0;0')") == [[15, 0, 0, 1], [71, 0, 0, 1]]
    assert ask("posesOf('1;2;10,20,30;1,2,3')") == [[1, 2, 10, 1], [1, 2, 20, 2], [1, 2, 30, 3]]
    assert ask("posesOf('1;2;3')") == [[1, 2, 3, 1], [1, 2, 3, 1]]


def test_data_come_out_as_they_were_put_in(ask: Ask) -> None:
    value = {"a": [1, -2, 0.5, None, True], "b": "</script> \u2028 \U0001f47b"}
    assert ask("unpacked", embedded(value)) == value


def test_bytes_come_out_of_base_64(ask: Ask) -> None:
    assert ask("[...bytesOf('AAH/gA==')]") == [0, 1, 255, 128]


def test_fast_flashes_are_held_at_their_mean_where_that_is_wanted(ask: Ask) -> None:
    lane = {"kind": "lamp", "key": "lamp:a", "name": "a", "of": "a", "label": "",
            "edges": [0, 0, 0, *([100, 255, 0, 60, 0, 0] * 8)], "fast": [100, 1000, 7, 96]}
    found = ask("""lane => {
      const open = openLane(lane, {begin: 0, end: 2000}, {sensors: []});
      return [levelOf(open, 110, true), levelOf(open, 110, false), levelOf(open, 170, true), levelOf(open, 1500, true),
              wordsOf(open, 110, true)];
    }""", lane)
    assert found == [96 / 255, 1, 96 / 255, 0, "about 38 %, flashes 7 in 1 s"]
