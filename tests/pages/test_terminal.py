"""The timeline in the terminal: what is drawn is what happened, within the width, without colour, in
ASCII too."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Device, OutputInfo, Timeline, Track
from sequencer.dryrun.triggers import Trigger
from sequencer.pages.terminal import draw_lanes, draw_timeline
from sequencer.pages.terminal_axis import Scale, axis_lines
from sequencer.pages.terminal_events import tell
from sequencer.pages.terminal_lanes import cylinder_lane, device_lanes, scare_lanes, sensor_lanes
from sequencer.pages.terminal_marks import ASCII, PLAIN
from sequencer.pages.terminal_view import View
from sequencer.steps import OutputEdge, step
from sequencer.steps.events import Cause, ClipSilenced, ClipStarted, InputChanged, Killed, Started
from tests.dryrun.yards import LUNGE, OUTPUTS, lunge, setup_of

TRIPS = (Trigger("step", 2000, 2200), Trigger("step", 3000, 3200))


@pytest.fixture(scope="module")
def timeline() -> Timeline:
    return run(setup_of(LUNGE), Asked(TRIPS, 7, 9000))


def empty(timeline: Timeline, **changed: object) -> Timeline:
    """The same yard in which nothing happens but what is said."""
    nothing: dict[str, object] = {"edges": (), "events": (), "tracks": (), "met": ()}
    return replace(timeline, **(nothing | changed))  # type: ignore[arg-type]


def lane(text: str, name: str) -> str:
    """The cells of a lane of a drawing, blanks and grid as spaces."""
    (line,) = [line for line in text.split("\n") if line.startswith(f" {name} ")]
    return line[len(name) + 1 :].strip()


@pytest.mark.parametrize("width", [40, 60, 80, 100, 120, 200])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_line_is_wider_than_the_terminal(timeline: Timeline, width: int, ascii_only: bool) -> None:
    for line in draw_timeline(timeline, View(width, ascii_only)).split("\n"):
        assert len(line) <= width, line


def test_only_the_lanes_that_are_asked_for_are_drawn(timeline: Timeline) -> None:
    whole, some = draw_timeline(timeline, View()), draw_lanes(timeline, View(only=frozenset(("scares",))))
    assert "sensors" in whole and "sensors" not in some
    begin = whole.split("\n").index("scares")
    head = whole.split("\n")[begin + 1].split()[0]
    assert head in some and "what" not in some


def test_every_device_has_its_lane(timeline: Timeline) -> None:
    text = draw_timeline(timeline, View())
    for name in ("step", "window.ram_out", "mushroom", "window.lunge", "eyes", "shove", "ram", "throat"):
        assert lane(text, name) is not None


def test_ascii_is_ascii_and_both_sets_have_marks_of_one_column() -> None:
    for marks in (PLAIN, ASCII):
        for name in marks.__slots__:
            if name not in ("shades", "heights"):
                assert len(getattr(marks, name)) == 1, name
    assert all(ord(sign) < 128 for name in ASCII.__slots__ for sign in getattr(ASCII, name))


def test_the_ascii_drawing_can_be_written_to_an_old_code_page(timeline: Timeline) -> None:
    draw_timeline(timeline, View(ascii_only=True)).encode("ascii")


def test_marks_of_one_kind_of_lane_differ_without_colour() -> None:
    for m in (PLAIN, ASCII):
        assert len({m.home, m.out, m.between, m.going_out, m.going_home, m.there_and_back}) == 6
        assert len({m.begins, m.runs, m.idles, m.ends, m.killed, m.skipped, m.grid, " "}) == 8
        assert len({*m.shades, m.quick, m.grid, " "}) == len(m.shades) + 3
        assert len({m.coil_out, m.coil_home, m.coil_both, m.on}) == 4


def test_colour_changes_nothing_but_colour(timeline: Timeline) -> None:
    plain, coloured = (draw_timeline(timeline, View(colour=colour)) for colour in (False, True))
    assert "\x1b" not in plain
    assert coloured != plain
    assert re.sub(r"\x1b\[\d+m", "", coloured) == plain


def test_a_rod_is_drawn_home_going_out_out_and_going_home(timeline: Timeline) -> None:
    cells = cylinder_lane(timeline.tracks[0], Scale(0, 9000, 90), ASCII).cells
    assert re.fullmatch(r"_+/+\^+\\+_+", cells)
    # 0.1 s a column: leaves at 2.82 s, is there at 3.22 s, leaves at 4.081 s, is there at 4.981 s.
    assert (cells.index("/"), cells.index("^"), cells.index("\\"), cells.rindex("\\")) == (28, 33, 40, 49)


def test_a_rod_that_stands_between_and_one_that_turns_within_a_column_are_told_apart() -> None:
    track = Track(
        "ram", "shove", ((0, 0.0), (400_000, 0.5), (1_000_000, 0.5), (1_100_000, 0.9), (1_200_000, 0.5)), ()
    )
    assert cylinder_lane(track, Scale(0, 2000, 10), ASCII).cells == "//---X----"


def test_a_lamp_is_drawn_by_its_level(timeline: Timeline) -> None:
    still = empty(
        timeline, edges=(OutputEdge(1000, 0, 255, 1000), OutputEdge(4000, 0, 128), OutputEdge(5000, 0, 0))
    )
    cells = next(iter(device_lanes(still, Scale(0, 9000, 18), ASCII))).cells
    assert cells == "  5#####55        "


def test_a_blink_shorter_than_a_column_is_still_seen(timeline: Timeline) -> None:
    still = empty(
        timeline,
        edges=(
            OutputEdge(4321, 0, 255),
            OutputEdge(4322, 0, 0),
            OutputEdge(6001, 1, 255),
            OutputEdge(6003, 1, 0),
        ),
    )
    lamp, coil, *_ = device_lanes(still, Scale(0, 9000, 9), ASCII)
    assert lamp.cells.strip() and lamp.cells[4] != " "
    assert coil.cells == "      #  "


def test_flashes_quicker_than_a_column_have_a_mark_of_their_own(timeline: Timeline) -> None:
    flashes = tuple(OutputEdge(1000 + 100 * i, 0, 255 if i % 2 == 0 else 0) for i in range(20))
    cells = next(iter(device_lanes(empty(timeline, edges=flashes), Scale(0, 9000, 9), ASCII))).cells
    assert cells.startswith(" **")


def test_the_two_coils_of_a_valve_share_a_lane_and_differ(timeline: Timeline) -> None:
    pair = (
        OutputInfo(0, "shove (on)", "shove", Device.COIL, "on", "out0", 0),
        OutputInfo(1, "shove (back on)", "shove", Device.COIL, "back on", "out1", 0),
    )
    edges = (
        OutputEdge(1000, 0, 255),
        OutputEdge(1900, 0, 0),
        OutputEdge(3000, 1, 255),
        OutputEdge(3900, 1, 0),
    )
    two = empty(timeline, yard=replace(timeline.yard, outputs=pair), edges=edges)
    (cells,) = [one.cells for one in device_lanes(two, Scale(0, 5000, 5), ASCII)]
    assert cells == " o h "


def test_scares_show_their_begin_end_kill_and_skip(timeline: Timeline) -> None:
    (cells,) = [one.cells for one in scare_lanes(timeline, Scale(0, 9000, 90), ASCII)]
    assert (cells.index("["), cells.index("!"), cells.index("]")) == (20, 30, 55)
    cut = empty(timeline, events=(Started(1000, 0, Cause.EVERY), Killed(3000, 0, Cause.STOP_INPUT)))
    assert next(iter(scare_lanes(cut, Scale(0, 9000, 9), ASCII))).cells == " [=x     "


def test_a_clip_carries_its_name_where_there_is_room(timeline: Timeline) -> None:
    assert "<growl" in draw_timeline(timeline, View(ascii_only=True))
    cut = empty(timeline, events=(ClipStarted(1000, 0), ClipSilenced(1500, 0)))
    assert next(
        one.cells for one in device_lanes(cut, Scale(0, 2000, 20), ASCII) if one.kind == "speaker"
    ) == (" " * 10 + "<grox" + " " * 5)


def test_a_sensor_that_sees_the_rod_at_rest_is_tripped_from_the_start(timeline: Timeline) -> None:
    lanes = {one.name: one.cells for one in sensor_lanes(timeline, Scale(0, 9000, 9), ASCII)}
    assert lanes["window.ram_home"] == "VVV VVVVV"
    assert lanes["mushroom"].strip() == ""


def test_a_closed_alarm_loop_is_drawn_tripped_until_it_clears(timeline: Timeline) -> None:
    inputs = tuple(replace(one, turned=one.sensor == "mushroom") for one in timeline.yard.inputs)
    events = (InputChanged(3000, 3, True), InputChanged(5000, 3, False))
    loop = empty(timeline, yard=replace(timeline.yard, inputs=inputs), events=events, tripped_at_start=())
    lanes = {one.name: one.cells for one in sensor_lanes(loop, Scale(0, 9000, 9), ASCII)}
    assert lanes["mushroom"] == "VVV  VVVV"
    assert [one.what for one in tell(loop)] == ["mushroom clears", "mushroom trips"]


@pytest.mark.parametrize(
    ("end", "columns", "labels"),
    [
        (9000, 64, ["0 s", "2 s", "4 s", "6 s", "8 s"]),
        (1000, 64, ["0.0 s", "0.2 s", "0.4 s", "0.6 s", "0.8 s"]),
        (600_000, 64, ["0 s", "2:00 min", "4:00 min", "6:00 min", "8:00 min"]),
        (20, 64, ["0.000 s", "0.005 s", "0.010 s", "0.015 s"]),
    ],
)
def test_the_axis_has_round_numbers_over_their_ticks(end: int, columns: int, labels: list[str]) -> None:
    scale = Scale(0, end, columns)
    top, ruler = axis_lines(scale, ASCII)
    assert re.split(r"\s{2,}", top.strip()) == labels
    for label in labels:
        assert ruler[top.index(label)] == "+"


def test_a_window_shows_only_its_own_time(timeline: Timeline) -> None:
    text = draw_timeline(timeline, View(begin=4000, until=5500))
    assert "4 s to 5.5 s of 9 s" in text
    assert "window.lunge starts" not in text
    assert "ram leaves out" in text


def test_an_empty_window_is_refused(timeline: Timeline) -> None:
    for view in (View(begin=9000), View(begin=4000, until=4000), View(width=20)):
        with pytest.raises(ValueError):
            draw_timeline(timeline, view)


def test_the_list_tells_everything_in_order_with_causes(timeline: Timeline) -> None:
    said = tell(timeline)
    assert [one.tick for one in said] == sorted(one.tick for one in said)
    words = {(one.tick, one.what): one.why for one in said}
    assert words[2020, "window.lunge starts"] == "step"
    assert words[2820, "window.ram leaves home, going out"] == "commanded 60 ms before"
    assert (3220, "window.ram arrives out") in words
    assert (2760, "window.shove on") in words
    assert words[3020, "window.lunge does not start"] == "it is still running"


def test_a_long_list_is_cut_and_says_how_to_see_the_rest(timeline: Timeline) -> None:
    text = draw_timeline(timeline, View(most_events=5))
    assert re.search(r"and \d+ more; --events \d+ shows them", text)


def test_a_flicker_is_one_line_of_the_list() -> None:
    flicker = lunge(step("flicker", 0, 20, 200, 1500), step("wait", 1500))
    timeline = run(setup_of(flicker), Asked(TRIPS[:1], 7))
    lines = [one.what for one in tell(timeline) if "eyes" in one.what]
    assert len(lines) == 1
    assert re.fullmatch(r"window.eyes changes \d+ times until 3\.520 s", lines[0])


def test_air_says_what_it_counts(timeline: Timeline) -> None:
    assert "drawn by the cylinders" in draw_timeline(timeline, View(width=200)).split("\n")[-1]


def test_names_too_long_keep_their_end() -> None:
    name = "cellar." + "very_" * 12 + "end"
    setup = setup_of(LUNGE)
    long = replace(setup, yard=replace(setup.yard, outputs=(replace(OUTPUTS[0], device=name), *OUTPUTS[1:])))
    text = draw_timeline(run(long, Asked(TRIPS, 7, 9000)), View(width=80))
    assert "_end" in text
    assert all(len(line) <= 80 for line in text.split("\n"))
