"""What is drawn holds together: rods end at their pins, bars keep their length, ends go where the linkage says."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from sequencer.air.mechanism.build import mechanism_of
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.checks import check_bytes
from sequencer.checks.clips import sounds_in
from sequencer.language.load import folder_reader
from sequencer.pages.html.figure import HEIGHT, POSES, WIDTH, Body, Figure, placed
from sequencer.pages.html.machines import figures_of, fractions
from sequencer.pages.html.once import Once
from sequencer.pages.html.stage import stage_of
from sequencer.pages.html.symbols import valve_symbol
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve
from sequencer.show import Show
from tests.dryrun.yards import valve

RIG = """show "Linkages"
compressor shed like compressor_20_gal
line yard from shed: tube 3/8 in, length 10 ft
manifold bench on yard: ports 8
board box like avr2560
prop yardarm:
    air from bench port 1, tube 1/4 in, length 6 ft, regulator 60 psi
    reach none
    valve lift like valve_5_2_quarter: on box out0
    cylinder pusher like cylinder_round_1_1_2_in: on lift, stroke 6 in
    lever gate on pusher:
        rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 14 deg
        arm 36 in, carries 6 lb
prop tower:
    reach none
    valve up like valve_5_2_quarter: on box out1
    cylinder spread like cylinder_round_1_1_2_in: on up, stroke 10 in
    scissor stack on spread: stages 3, links 24 in, opens from 20 deg to 55 deg, carries 10 lb
prop gallows:
    reach none
    valve pull like valve_5_2_quarter: on box out2
    cylinder winch like cylinder_round_1_1_2_in: on pull, stroke 10 in
    rope line on winch: carries 5 lb, length 10 ft, multiplies 2 times
prop jaw:
    reach none
    valve bite like valve_5_2_quarter: on box out3
    cylinder chew like cylinder_round_1_1_2_in: on bite, stroke 5 in
    fourbar teeth on chew:
        rod 4 in from the pivot, cylinder 16 in from the pivot at -60 deg, swings from 30 deg to 80 deg
        ground 20 in, crank 8 in, coupler 20 in, rocker 8 in, carries 3 lb
prop drawer:
    reach none
    valve shove like valve_5_2_quarter: on box out4
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 12 in
    slide tray on ram: carries 8 lb, rises 15 deg
prop plain:
    reach none
    valve knock like valve_3_2_quarter: on box out5
    cylinder fist like cylinder_round_3_4_in:
        on knock, stroke 2 in, single acting, spring returns, spring preload 2 lbf
        lifts 90 deg
prop both:
    reach none
    valve haul like valve_5_2_quarter: on box out6
    cylinder arm like cylinder_round_1_1_2_in: on haul, stroke 6 in
    lever hatch on arm:
        rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 14 deg
        arm 36 in, carries 6 lb
    spring helper on arm: rate 0.2 N/mm, preload 10 N, pushes home
    rope cord on arm: carries 2 lb, length 6 ft
"""


def show() -> Show:
    where = Path(__file__).parent
    return check_bytes(RIG.encode(), "rig.show", folder_reader(where), sounds_in(where)).show


SHOW = show()
NAMES = ("yardarm.pusher", "tower.spread", "gallows.winch", "jaw.chew", "drawer.ram", "plain.fist")


def cylinder(name: str) -> Cylinder:
    part = SHOW.parts[name].part
    assert isinstance(part, Cylinder)
    return part


def figure(name: str) -> Figure:
    return figures_of(SHOW, cylinder(name))[0]


def mechanism(name: str) -> Mechanism:
    kinds = ("slide", "lever", "scissor", "fourbar", "rope", "spring")
    driven = [one.part for one in SHOW.of_kind(*kinds) if getattr(one.part, "cylinder", "") == name]
    built = mechanism_of(cylinder(name), driven)  # type: ignore[arg-type]
    assert isinstance(built, Mechanism), built
    return built


def bodies(drawn: Figure, kind: str) -> list[Body]:
    return [body for body in drawn.bodies if any(stroke.kind == kind for stroke in body.strokes)]


def symbol(one: Valve, moved: Cylinder | None = None) -> str:
    """The whole drawing: what is shown there and what that refers to."""
    once = Once()
    shown = valve_symbol(once, one, moved)
    return shown + once.definitions()


def where(body: Body, at: int, corner: tuple[float, float]) -> tuple[float, float]:
    pose = body.poses[0] if len(body.poses) == 1 else body.poses[round(at * (len(body.poses) - 1) / POSES)]
    return placed(corner, pose)


@pytest.mark.parametrize("name", NAMES)
def test_the_piston_goes_its_stroke_within_its_barrel(name: str) -> None:
    drawn, stroke = figure(name), cylinder(name).stroke.si
    piston, = bodies(drawn, "piston")
    barrel = bodies(drawn, "barrel")[0]
    tube = max(x for one in barrel.strokes if one.kind == "barrel" for x, _ in one.corners)
    ways = []
    for at in range(POSES + 1) if len(piston.poses) > 2 else (0, POSES):
        base, center = where(barrel, at, (0.0, 0.0)), where(piston, at, (0.0, 0.0))
        ways.append(math.dist(base, center))
    assert min(ways) > 0 and max(ways) < tube
    out = min(mechanism(name).out_m, stroke)
    assert max(ways) - min(ways) == pytest.approx(out, rel=1e-6)


def test_the_end_of_the_lever_goes_where_the_linkage_says() -> None:
    drawn, built = figure("yardarm.pusher"), mechanism("yardarm.pusher")
    arm, = bodies(drawn, "bar")
    assert len(arm.poses) == POSES + 1
    for at, fraction in enumerate(fractions()):
        end = built.ends_at(fraction * cylinder("yardarm.pusher").stroke.si)["yardarm.gate"]
        assert where(arm, at, (36 * 0.0254, 0.0)) == pytest.approx((end.right_m, end.up_m), abs=1e-9)


def test_the_rod_of_a_pinned_cylinder_ends_on_the_arm() -> None:
    drawn = figure("yardarm.pusher")
    arm, = bodies(drawn, "bar")
    rod, = bodies(drawn, "piston")
    length = max(x for one in rod.strokes if one.kind == "rod" for x, _ in one.corners)
    for at in range(POSES + 1):
        assert where(rod, at, (length, 0.0)) == pytest.approx(where(arm, at, (8 * 0.0254, 0.0)), abs=1e-9)


def test_the_links_of_a_scissor_meet_and_its_top_is_as_high_as_said() -> None:
    drawn, built = figure("tower.spread"), mechanism("tower.spread")
    links, link = bodies(drawn, "bar"), 24 * 0.0254
    assert len(links) == 6
    top, = bodies(drawn, "load")
    for at, fraction in enumerate(fractions()):
        high = built.ends_at(fraction * cylinder("tower.spread").stroke.si)["tower.stack"].up_m
        assert where(top, at, (0.0, 0.0))[1] == pytest.approx(high, abs=0.03 * link + 1e-9)
        for lower, upper in zip(links[::2], links[3::2], strict=False):
            assert where(lower, at, (link, 0.0)) == pytest.approx(where(upper, at, (0.0, 0.0)), abs=1e-9)


def test_the_bars_of_a_four_bar_stay_together() -> None:
    drawn, built = figure("jaw.chew"), mechanism("jaw.chew")
    crank, coupler, rocker = bodies(drawn, "bar")
    inch = 0.0254
    for at, fraction in enumerate(fractions()):
        assert where(crank, at, (8 * inch, 0)) == pytest.approx(where(coupler, at, (0, 0)), abs=1e-9)
        assert where(coupler, at, (20 * inch, 0)) == pytest.approx(where(rocker, at, (8 * inch, 0)), abs=1e-9)
        end = built.ends_at(fraction * cylinder("jaw.chew").stroke.si)["jaw.teeth"]
        tip = where(rocker, at, (8 * inch, 0))
        assert (tip[0] - 20 * inch, tip[1]) == pytest.approx((end.right_m, end.up_m), abs=1e-9)


def test_a_rope_stays_on_its_load_which_goes_as_far_as_said() -> None:
    drawn, built = figure("gallows.winch"), mechanism("gallows.winch")
    load, = bodies(drawn, "load")
    _, down = bodies(drawn, "rope")
    first = where(load, 0, (0.0, 0.0))[1]
    for at, fraction in enumerate(fractions()):
        end = built.ends_at(fraction * cylinder("gallows.winch").stroke.si)["gallows.line"]
        here = where(load, at, (0.0, 0.0))[1]
        assert here - first == pytest.approx(end.up_m, abs=1e-9)
        assert where(down, at, (1.0, 0.0))[1] >= here


def test_every_linkage_of_a_cylinder_is_drawn_each_with_its_springs() -> None:
    drawn = figures_of(SHOW, cylinder("both.arm"))
    assert [one.drives for one in drawn] == ["a lever, hatch", "a rope, cord"]
    assert all("both.arm: double-acting cylinder" in one.says for one in drawn)
    built = mechanism("both.arm")
    assert {"both.hatch", "both.cord"} <= set(built.ends_at(0.0))
    for one in drawn:
        spring, = bodies(one, "spring")
        rod, barrel = bodies(one, "piston")[0], bodies(one, "barrel")[0]
        (x0, y), (x1, _) = spring.strokes[0].corners
        lengths = [math.dist(where(spring, at, (x0, y)), where(spring, at, (x1, y))) for at in (0, POSES)]
        ways = [math.dist(where(rod, at, (0.0, 0.0)), where(barrel, at, (0.0, 0.0))) for at in (0, POSES)]
        assert lengths[1] - lengths[0] == pytest.approx(ways[1] - ways[0])
    assert stage_of(SHOW).count("The same rod also drives a rope, cord:") == 1


def test_a_slide_and_a_lifting_cylinder_go_at_their_angle() -> None:
    for name, degrees in (("drawer.ram", 15.0), ("plain.fist", 90.0)):
        rod, = bodies(figure(name), "piston")
        (x0, y0, _, _), (x1, y1, _, _) = rod.poses[0], rod.poses[-1]
        assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(degrees)


def test_between_two_poses_a_pin_is_less_than_a_pixel_off() -> None:
    """Of a drawing 240 units wide: the script goes evenly between poses, the linkage does not."""
    drawn, built = figure("yardarm.pusher"), mechanism("yardarm.pusher")
    arm, = bodies(drawn, "bar")
    stroke, reach = cylinder("yardarm.pusher").stroke.si, 36 * 0.0254
    unit = (WIDTH - 20) / (2 * reach)
    for at in range(POSES):
        middle = [(one + other) / 2 for one, other in zip(arm.poses[at], arm.poses[at + 1], strict=True)]
        end = built.ends_at((at + 0.5) / POSES * stroke)["yardarm.gate"]
        off = math.dist(placed((reach, 0.0), tuple(middle)), (end.right_m, end.up_m))  # type: ignore[arg-type]
        assert off * unit < 1


def test_everything_lies_within_its_drawing() -> None:
    text = stage_of(SHOW)
    assert text.count('class="machine"') == 8
    for x, y in re.findall(r"translate\(([-\d.]+) ([-\d.]+)\) rotate", text):
        assert -1 <= float(x) <= WIDTH + 1 and -1 <= float(y) <= HEIGHT + 1


def test_a_centre_under_pressure_is_told_from_the_end_that_sends_out_too() -> None:
    text = symbol(valve("5/3", solenoids=2, centre="pressurised"))
    places = dict(re.findall(r'data-(out|vented|home)="([-\d.]+)"', text))
    assert 'data-rest="vented"' in text and places["vented"] == "0" and places["out"] != "0"


def test_a_cylinder_stands_over_its_valve_with_a_pipe_to_each_end_that_has_a_port() -> None:
    for name, pipes in (("drawer.ram", 2), ("plain.fist", 1)):
        one = cylinder(name)
        moves = SHOW.parts[one.valve].part
        assert isinstance(moves, Valve)
        assert symbol(moves, one).count("data-pipe") == pipes


def test_each_kind_of_valve_has_a_square_a_position_and_shows_the_one_in_force() -> None:
    made: list[tuple[Valve, int]] = [
        (valve("2/2", unpowered="closed"), 2), (valve("3/2", unpowered="closed"), 2), (valve("5/2"), 2),
        (valve("5/2", solenoids=2), 2), (valve("5/3", solenoids=2, centre="closed"), 3),
        (valve("5/3", solenoids=2, centre="pressurised"), 3), (valve("3/2", unpowered="open"), 2),
    ]
    for one, squares in made:
        text = symbol(one)
        assert text.count("<rect") == squares + (2 if one.back_pin else 1)
        places = dict(re.findall(r'data-(out|home|holds|vented)="([-\d.]+)"', text))
        assert len(places) == squares
        assert "0" in places.values()
