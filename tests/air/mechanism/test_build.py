"""Parts of the rig, as authors write them, made into mechanisms; what cannot be built says so in the author's units."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sequencer.air.mechanism.build import (
    MAKERS,
    Impossible,
    mechanism_of,
    of_fourbar,
    of_lever,
    of_rod,
    of_rope,
    of_scissor,
    of_slide,
    of_spring,
)
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.air.mechanism.rope import RopeLift
from sequencer.rig import KINDS
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.fourbar import Fourbar
from sequencer.rig.lever import Lever
from sequencer.rig.rope import Rope
from sequencer.rig.scissor import Scissor
from sequencer.rig.slide import Slide
from sequencer.rig.spring import Spring
from sequencer.units import read_quantity

G = 9.80665


def said(**values: Any) -> dict[str, Any]:
    """Texts that are quantities, read; the rest as it is."""
    return {key: read_quantity(value) if isinstance(value, str) and " " in value else value
            for key, value in values.items()}


def ram(**changed: Any) -> Cylinder:
    plain = {"bore": "1-1/2 in", "rod": "7/16 in", "stroke": "6 in", "valve": "lift"}
    return Cylinder(name="ram", **said(**plain | changed))


def lever(**changed: Any) -> Lever:
    plain = {"rod_at": "8 in", "base_at": "20 in", "base_angle": "-90 deg", "start": "-30 deg", "end": "15 deg",
             "arm": "36 in", "carries": "6 lb"}
    return Lever(name="gate", cylinder="ram", **said(**plain | changed))


def fourbar(**changed: Any) -> Fourbar:
    plain = {"rod_at": "10 cm", "base_at": "40 cm", "base_angle": "-60 deg", "start": "30 deg", "end": "80 deg",
             "carries": "3 kg", "ground": "50 cm", "crank": "20 cm", "coupler": "45 cm", "rocker": "25 cm"}
    return Fourbar(name="jaw", cylinder="ram", **said(**plain | changed))


def scissor(**changed: Any) -> Scissor:
    plain = {"stages": 2, "link": "24 in", "start": "15 deg", "end": "45 deg", "carries": "10 lb"}
    return Scissor(name="tower", cylinder="ram", **said(**plain | changed))


def rope(**changed: Any) -> Rope:
    return Rope(name="hoist", cylinder="ram", **said(**{"carries": "5 kg", "length": "3 m"} | changed))


def built(found: Mechanism | Impossible) -> Mechanism:
    assert isinstance(found, Mechanism), found
    return found


def refused(found: Mechanism | Impossible) -> Impossible:
    assert isinstance(found, Impossible), found
    return found


def test_every_part_that_a_cylinder_drives_has_its_maker() -> None:
    driven = {kind for kind in KINDS.values() if "on {cylinder:@cylinder}" in kind.phrases}
    assert set(MAKERS) == {kind.kind for kind in driven}


def test_a_lever_stands_at_the_angles_its_author_gave() -> None:
    found = built(of_lever(lever(), ram()))
    home, out = (found.ends_at(x)["gate"] for x in (0.0, found.out_m))
    assert (math.degrees(home.angle_rad), math.degrees(out.angle_rad)) == pytest.approx((-30, 15))
    assert out.travel_m == pytest.approx(36 * 0.0254 * math.radians(45))
    assert found.remarks == ()


def test_a_lever_takes_all_of_its_properties_into_account() -> None:
    plain = built(of_lever(lever(), ram()))
    heavy = built(of_lever(lever(arm_mass="2 kg", drag="20 %"), ram()))
    share = (6 * 0.45359237 + 1.0) / (6 * 0.45359237)
    assert heavy.load_at(0.05, 0.0)[2] == pytest.approx(plain.load_at(0.05, 0.0)[2] * share)
    assert heavy.load_at(0.05, 1.0)[2] == pytest.approx(heavy.load_at(0.05, 0.0)[2] / 0.8)


def test_a_swing_over_a_dead_centre_is_refused_with_the_angle() -> None:
    # The rig lets it pass, since the rod is longer at the end than at the start.
    found = refused(of_lever(lever(base_angle="-20 deg", end="60 deg"), ram(stroke="12 in")))
    assert (found.part, found.field) == ("gate", "base_angle")
    assert "-30 deg to 60 deg" in found.sentence and "at -20 deg" in found.sentence


def test_a_stroke_that_is_too_short_for_the_swing_is_refused_with_both_and_the_angle_it_reaches() -> None:
    found = refused(of_lever(lever(), ram(stroke="4 in")))
    assert found.field == "end"
    # Law of cosines: from 17.44 in at -30 deg, 4 in more is 21.44 in, with the arm at -1 deg.
    reached = math.degrees(math.acos((64 + 400 - (math.sqrt(304) + 4) ** 2) / 320)) - 90
    assert "5.949 in" in found.sentence and "4 in" in found.sentence and f"{reached:.3g}"[:4] in found.sentence


def test_a_stroke_that_is_too_long_is_built_and_remarked_on() -> None:
    found = built(of_lever(lever(), ram(stroke="8 in")))
    assert found.out_m == pytest.approx(5.949 * 0.0254, rel=1e-3)
    (remark,) = found.remarks
    assert "15 deg" in remark.sentence and "5.949 in out of 8 in" in remark.sentence


def test_a_cylinder_longer_closed_than_its_pins_are_apart_is_refused() -> None:
    found = refused(of_lever(lever(base_at="10 in", base_angle="-60 deg"), ram(stroke="7 in")))
    assert found.field == "base_at" and "7 in" in found.sentence


def test_bars_that_part_on_the_way_are_refused_though_they_meet_at_both_ends() -> None:
    # At 100 and 250 deg the bars close; between, at 180 deg, the gap is 70 cm and they span 68 cm at most.
    swing = {"start": "100 deg", "end": "250 deg", "base_angle": "80 deg", "coupler": "45 cm", "rocker": "23 cm"}
    found = refused(of_fourbar(fourbar(**swing), ram(stroke="20 cm")))
    assert found.field == "coupler"
    assert "at 180 deg" in found.sentence and "70 cm" in found.sentence and "22 cm to 68 cm" in found.sentence


def test_a_four_bar_uncrossed_carries_its_load_beside_its_crank() -> None:
    found = built(of_fourbar(fourbar(), ram(stroke="90 mm")))
    assert all(found.ends_at(x)["jaw"].up_m > 0 for x in (0.0, found.out_m))


def test_a_scissor_reaches_its_height_with_the_rod_out() -> None:
    part = scissor(end="42 deg")
    found = built(of_scissor(part, ram()))
    assert found.ends_at(found.out_m)["tower"].up_m == pytest.approx(part.height_m(part.end.si))
    assert found.out_m == pytest.approx(part.base_travel_m)
    assert "takes 6.212 in" in refused(of_scissor(scissor(), ram())).sentence


def test_a_scissor_opened_the_other_way_sinks_as_the_rod_goes_out() -> None:
    found = built(of_scissor(scissor(start="42 deg", end="15 deg"), ram()))
    assert found.load_at(0.1, 0.0)[2] < 0
    assert found.ends_at(found.out_m)["tower"].travel_m > 0


def test_a_rope_too_short_for_its_stroke_is_refused() -> None:
    found = refused(of_rope(rope(times=4, length="50 cm"), ram()))
    assert found.field == "length" and "60.96 cm" in found.sentence and "50 cm" in found.sentence


def test_a_rope_that_gives_more_than_is_pulled_in_is_refused() -> None:
    assert refused(of_rope(rope(stretch="10 %"), ram())).field == "stretch"


def test_pulleys_lose_their_share_each() -> None:
    found = built(of_rope(rope(pulls="extending", pulleys=3, loss="5 %"), ram()))
    # Efficiency of pulleys in a row multiplies (any textbook).
    assert found.load_at(0.1, 1.0)[2] == pytest.approx(5 * G / 0.95**3)
    assert found.load_at(0.1, -1.0)[2] == pytest.approx(5 * G * 0.95**3)


def test_a_slide_rubs_by_its_weight_across_its_way() -> None:
    slide = Slide(name="sledge", cylinder="ram", **said(carries="10 kg", rises="60 deg", rubs="20 %", drag="3 N"))
    found = of_slide(slide, ram())
    weight = 10 * G
    assert found.load_at(0.1, 1.0)[2] == pytest.approx(weight * math.sin(math.pi / 3) + 0.2 * weight * 0.5 + 3)
    assert found.load_at(0.1, -1.0)[2] == pytest.approx(weight * math.sin(math.pi / 3) - 0.2 * weight * 0.5 - 3)


@pytest.mark.parametrize("pushes", ["home", "out"])
@pytest.mark.parametrize("x", [0.0, 0.05, 0.15])
def test_a_spring_does_as_the_rig_says(pushes: str, x: float) -> None:
    spring = Spring(name="helper", cylinder="ram", pushes=pushes, **said(rate="1 N/mm", preload="80 N"))
    assert of_spring(spring, ram()).load_at(x, 0.0)[2] == pytest.approx(-spring.force_n(x))


def test_what_the_cylinder_moves_counts_along_its_own_angle() -> None:
    _, _, load = of_rod(ram(moves="9 lb", lifts="20 deg")).load_at(0.1, 0.0)
    assert load == pytest.approx(9 * 0.45359237 * G * math.sin(math.radians(20)))


def test_a_rod_that_moves_nothing_still_has_its_own_mass() -> None:
    # Steel 7,850 kg/m3: the rod alone, 7/16 in thick and 6 in long, is 0.116 kg.
    mass = of_rod(ram()).load_at(0.1, 0.0)[0]
    assert 0.116 < mass < 0.4


def test_all_parts_on_one_cylinder_make_one_mechanism() -> None:
    spring = Spring(name="helper", cylinder="ram", pushes="out", **said(rate="1 N/mm", preload="80 N"))
    cylinder = ram(moves="1 kg")
    found = built(mechanism_of(cylinder, (rope(), lever(), spring)))
    assert found.names == ("ram", "gate", "helper", "hoist")
    each = [of_rod(cylinder), built(of_lever(lever(), cylinder)), of_spring(spring, cylinder)]
    hoist = built(of_rope(rope(), cylinder, found.out_m))
    sums = [sum(terms) for terms in zip(*(one.load_at(0.1, 0.0) for one in (*each, hoist)), strict=True)]
    assert found.load_at(0.1, 0.0) == pytest.approx(sums)


def test_a_homeward_rope_is_straight_where_the_others_stand_with_the_rod_out() -> None:
    found = built(mechanism_of(ram(stroke="8 in"), (lever(), rope())))
    hoist = next(piece for piece in found.pieces if isinstance(piece, RopeLift))
    assert hoist.lifted_at(found.out_m)[0] == 0
    assert hoist.lifted_at(0.0)[0] == pytest.approx(found.out_m)


def test_one_impossible_part_makes_the_whole_impossible() -> None:
    assert refused(mechanism_of(ram(stroke="4 in"), (lever(),))).part == "gate"


def test_a_part_on_another_cylinder_does_not_count_here() -> None:
    with pytest.raises(ValueError, match="is on ram, not on other"):
        mechanism_of(ram().model_copy(update={"name": "other"}), (lever(),))
