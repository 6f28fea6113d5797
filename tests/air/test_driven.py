"""A rod that drives linkages: what the air does is what is moved, lifted, rubbed and struck, whatever the linkage."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import pytest

from sequencer.air.cylinder import CylinderAir, Friction, Load, Port, Spool
from sequencer.air.driven import _by_pieces, acceleration_of, held_between
from sequencer.air.flow import Flow
from sequencer.air.gas import GRAVITY_M_S2
from sequencer.air.mechanism.fourbar import Bars, SwungBars
from sequencer.air.mechanism.lever import SwungArm
from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.mechanism import Mechanism
from sequencer.air.mechanism.rope import RopeLift
from sequencer.air.mechanism.scissor import ScissorStack
from sequencer.air.mechanism.straight import OutsideSpring, StraightLoad
from sequencer.air.mechanism.swing import Swing
from sequencer.air.motion import Trace, move
from sequencer.air.spool import Command

WIDE = Flow(5e-8, 0.4)
ARM = SwungArm(Swing(0.15, 0.5, math.radians(-80), math.radians(-30), math.radians(20)), 0.5, 2.0, 0.5, 0.0)
SCISSOR = ScissorStack(2, 0.4, math.radians(15), math.radians(50), 3.0, 1.5)
SPRING = OutsideSpring(500.0, 120.0, pushes_home=False)


def driving(*pieces: Linkage, stroke_m: float = 0.3) -> CylinderAir:
    names = tuple(f"part{number}" for number in range(len(pieces)))
    drives = Mechanism(pieces, names, stroke_m)
    area = math.pi / 4 * 0.04**2
    port = Port(area, area * 0.008 + 2e-6, WIDE, WIDE, WIDE, WIDE)
    return CylinderAir(0.04, stroke_m, port, Port(area * 0.84, area * 0.008 + 2e-6, WIDE, WIDE, WIDE, WIDE),
                       Load(0.5), Friction(0.0, 0.0), 6e5, Spool(), out_m=drives.out_m, drives=drives)


def out(cylinder: CylinderAir, until_s: float = 3.0) -> Trace:
    return move(cylinder, ("E", "S"), [Command(0.0, "S", "E", True)], until_s, 1e-5, "out")


def work_of_air_j(trace: Trace) -> float:
    """Of both chambers on the rod, by the trapezium rule over the solver's own steps."""
    cylinder, work = trace.cylinder, 0.0
    for one, then in pairwise(trace.samples()):
        push = [(s.cap_pa - cylinder.ambient_pa) * cylinder.cap.area_m2
                - (s.rod_pa - cylinder.ambient_pa) * cylinder.rod.area_m2 for s in (one, then)]
        work += (push[0] + push[1]) / 2 * (then.x_m - one.x_m)
    return work


def stored_j(trace: Trace, pieces: tuple[Linkage, ...]) -> float:
    """What load and springs took: the integral of their load over the way, on a fine grid; Simpson's rule."""
    end, cells = trace.final_m, 400
    width = end / cells
    loads = [sum(piece.terms(min(number * width / 2, end))[2] for piece in pieces) for number in range(2 * cells + 1)]
    return sum(width / 6 * (loads[2 * i] + 4 * loads[2 * i + 1] + loads[2 * i + 2]) for i in range(cells))


@pytest.mark.parametrize(
    "pieces", [(StraightLoad(4.0, math.radians(60)),), (ARM,), (SCISSOR,), (SPRING,), (ARM, SPRING)],
    ids=["slide", "lever", "scissor", "spring", "lever and spring"],
)
def test_the_work_of_the_air_is_what_is_lifted_and_what_arrives(pieces: tuple[Linkage, ...]) -> None:
    """Without friction, to 1 part in 300: what the trapezium rule leaves at these steps."""
    trace = out(driving(*pieces))
    (hit,) = trace.hits
    assert work_of_air_j(trace) == pytest.approx(stored_j(trace, pieces) + hit.energy_j, rel=1 / 300)


def test_a_slide_is_the_same_as_its_mass_on_the_rod() -> None:
    """One equation written in two ways: the terms of a linkage, and those of a load."""
    driven = driving(StraightLoad(4.0, math.radians(40)))
    plain = replace(driven, drives=None, load=Load(4.5, 0.0, -4.0 * GRAVITY_M_S2 * math.sin(math.radians(40))))
    one, other = out(driven), out(plain)
    assert one.hits[0].at_s == pytest.approx(other.hits[0].at_s, rel=1e-6)
    assert one.hits[0].energy_j == pytest.approx(other.hits[0].energy_j, rel=1e-5)


def test_a_rod_at_rest_holds_its_load_by_friction_alone_or_sets_out() -> None:
    """A sledge that rubs with 40 N on a slope that pulls 29.4 N: nothing moves; with 20 N it slides home."""
    for rubs, moves in ((40.0, False), (20.0, True)):
        cylinder = replace(driving(StraightLoad(3.0, math.radians(90), rubs)), start_m=0.2)
        vented = move(cylinder, ("E", "E"), [], 2.0)
        assert (vented.final_m < 0.2) == moves
    low, high = sorted(held_between(Mechanism((StraightLoad(3.0, math.radians(90), 40.0),), ("s",), 0.3), 0.2, 5.0))
    assert low == pytest.approx(3 * GRAVITY_M_S2 - 45)
    assert high == pytest.approx(3 * GRAVITY_M_S2 + 45)


def test_friction_that_grows_with_the_push_is_overcome_where_a_tackle_says() -> None:
    """Pulleys that eat 10 % need load / 0.9 to raise (any textbook of mechanics)."""
    rope = RopeLift(5.0, 2, 0.3, pulls_out=True, share=0.1)
    up, _ = held_between(Mechanism((rope,), ("hoist",), 0.3), 0.1, 0.0)
    assert up == pytest.approx(2 * 5 * GRAVITY_M_S2 / 0.9, rel=1e-6)


def test_a_slack_rope_neither_pushes_nor_weighs() -> None:
    rope = Mechanism((RopeLift(5.0, 1, 0.3, pulls_out=True),), ("hoist",), 0.3)
    accelerate = acceleration_of(rope, 1.0)
    assert accelerate(0.1, -1.0, -1, -500.0) == pytest.approx(-500.0)
    assert accelerate(0.1, 1.0, 1, 500.0) == pytest.approx((500 - 5 * GRAVITY_M_S2) / 6)


def test_a_heavier_end_of_a_lever_arrives_later() -> None:
    arm = SwungArm(ARM.swing, 0.5, 8.0, 0.5, 0.0)
    assert out(driving(arm)).hits[0].at_s > out(driving(ARM)).hits[0].at_s


EATING = replace(ARM, share=0.1, rubs_n=4.0)
TURNING = SwungBars(Swing(0.15, 0.5, math.radians(-80), math.radians(-20), math.radians(40)),
                    Bars(0.6, 0.25, 0.55, 0.4), 2.0, share=0.05)


@pytest.mark.parametrize("pieces", [(ARM,), (SCISSOR, SPRING), (EATING,), (TURNING, StraightLoad(1.0, 0.3)),
                                    (StraightLoad(2.0), RopeLift(5.0, 2, 0.2, pulls_out=True, share=0.1))],
                         ids=["lever", "scissor", "lever that rubs", "four bars", "rope"])
def test_a_table_pushes_a_rod_as_its_pieces_do(pieces: tuple[Linkage, ...]) -> None:
    """To 1e-4 of the greatest acceleration, at places, speeds and pushes drawn at random."""
    mechanism = Mechanism(pieces, tuple(f"part{number}" for number in range(len(pieces))), 0.2)
    assert mechanism.hot(0.5) is not None
    tabled, exact = acceleration_of(mechanism, 0.5), _by_pieces(mechanism, 0.5)
    rng = random.Random(3)
    drawn = [(rng.uniform(-0.01, 1.01) * mechanism.out_m, rng.uniform(0.0, 2.0) * mode, mode, rng.uniform(-300, 600))
             for mode in (1, -1) for _ in range(300)]
    pairs = [(tabled(*one), exact(*one)) for one in drawn if 0 <= one[0] <= mechanism.out_m]
    most = max(abs(one) for _, one in pairs)
    assert max(abs(one - other) for one, other in pairs) < 1e-4 * most


def test_a_spring_that_goes_slack_has_no_table() -> None:
    slack = OutsideSpring(2000.0, 120.0, pushes_home=False)
    assert Mechanism((slack,), ("helper",), 0.3).hot(0.5) is None
