"""What a trace says: times, ends, hops, flags; what the spool does with commands; what no cylinder can be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.air.cylinder import CylinderAir, Friction, Load, Manifold, Spool
from sequencer.air.flow import Flow
from sequencer.air.lines import End, Line, port_of
from sequencer.air.motion import move
from sequencer.air.needle import FlowControl
from sequencer.air.spool import Command, pieces, shifts
from tests.air.case_form import Case, cylinder_of, read_cases

CASES = {case.name: case for case in read_cases()}
BASE = CASES["base_ext_horizontal"]
OUT, HOME = Command(0.0, "S", "E", True), Command(0.3, "E", "S", False)


def test_times_of_a_stroke_add_up() -> None:
    trace = BASE.move()
    hit = trace.hits[0]
    assert trace.lead_s is not None
    assert trace.travel_s is not None
    assert trace.lead_s + trace.travel_s == pytest.approx(hit.at_s)
    assert hit.energy_j == pytest.approx(BASE.cylinder.load.mass_kg * hit.v_m_s**2 / 2)
    assert trace.flags == ()
    assert trace.arrival_s(1.0, 1) == hit.at_s
    assert trace.arrival_s(0.5, -1) is None


def test_the_place_at_a_time_is_the_arrival_turned_round() -> None:
    trace = BASE.move()
    for fraction in (0.05, 0.3, 0.77):
        at = trace.arrival_s(fraction, 1)
        assert at is not None
        assert trace.x_at(at) == pytest.approx(fraction * BASE.cylinder.stroke_m, rel=1e-6)
    assert trace.x_at(-1.0) == 0.0
    assert trace.x_at(99.0) == trace.final_m


@pytest.mark.parametrize(("name", "flags"), [
    ("never_moves_vertical_80kg", ("never moved",)), ("partial_reverse_early_8ms_pulse", ("reversed midway",)),
    ("meterout_0.1_ret_slow", ("stick-slip",)),
])
def test_flags_say_what_is_odd(name: str, flags: tuple[str, ...]) -> None:
    assert CASES[name].move().flags == flags


def test_stick_slip_is_counted_within_a_few_hops() -> None:
    """40 in the reference; single hops are not to be reproduced, their number nearly."""
    assert CASES["meterout_0.1_ret_slow"].move().hops == pytest.approx(40, abs=4)


def test_a_shared_supply_falls_while_it_feeds() -> None:
    case = CASES["supply_node_small_regulator"]
    assert case.move().least_supply_pa < case.cylinder.supply_pa - 0.5 * case.cylinder.manifold.band_pa
    assert BASE.move().least_supply_pa == BASE.cylinder.supply_pa


def test_a_command_before_the_spool_rests_counts_from_that_moment() -> None:
    spool = Spool(0.02, 0.03, 0.006)
    quick = [OUT, replace(HOME, at_s=0.022)]
    assert [at for at, _ in shifts(quick, spool)] == pytest.approx([0.02, 0.056])
    late = [OUT, HOME]
    assert [at for at, _ in shifts(late, spool)] == pytest.approx([0.02, 0.33])


def test_a_command_taken_back_before_the_spool_moves_never_was() -> None:
    taken_back = [OUT, replace(HOME, at_s=0.01)]
    assert [command.cap for _, command in shifts(taken_back, Spool(0.02, 0.03, 0.006))] == [HOME.cap]
    assert BASE.cylinder.start_m == 0.0
    assert move(BASE.cylinder, BASE.before, taken_back, 1.0).flags == ("never moved",)


def test_a_port_whose_way_stays_does_not_close_in_between() -> None:
    found = pieces(("S", "E"), [Command(0.0, "E", "E", False)], Spool(), 1.0)
    assert {piece.rod_opening for piece in found} == {1.0}
    assert min(piece.cap_opening for piece in found) < 0.2


def test_commands_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="comes after"):
        move(BASE.cylinder, BASE.before, [HOME, OUT], 1.0)


def test_a_closed_centre_holds_the_rod_between_its_ends() -> None:
    ram = replace(BASE.cylinder, stroke_m=0.5)
    trace = move(ram, BASE.before, [OUT, Command(0.25, "X", "X", False)], 20.0)
    assert 0.1 * 0.5 < trace.final_m < 0.9 * 0.5
    assert "never arrived" in trace.flags


def test_a_stop_short_of_the_stroke_is_an_end() -> None:
    trace = move(replace(BASE.cylinder, out_m=0.1), BASE.before, [OUT], 1.5)
    assert trace.final_m == 0.1
    assert trace.hits[0].at_s == pytest.approx(BASE.move().arrival_s(0.1 / BASE.cylinder.stroke_m, 1), rel=5e-3)
    assert trace.arrival_s(0.1 / BASE.cylinder.stroke_m, 1) == trace.hits[0].at_s


def test_a_cushion_takes_most_of_the_blow() -> None:
    bare = BASE.move().hits[0]
    rod = replace(BASE.cylinder.rod, cushion_m=0.02, cushion_c_m3_s_pa=1e-9)
    soft = move(replace(BASE.cylinder, rod=rod), BASE.before, [OUT], 3.0).hits[0]
    assert soft.energy_j < 0.3 * bare.energy_j
    assert soft.at_s > bare.at_s


def test_a_second_motion_starts_from_what_the_first_left() -> None:
    """Called home 20 ms after arriving: the chamber that must empty is not yet as full as after a rest."""
    soon = move(BASE.cylinder, BASE.before, [OUT, replace(HOME, at_s=0.36)], 3.0)
    late = move(BASE.cylinder, BASE.before, [OUT, replace(HOME, at_s=2.0)], 4.0)
    assert soon.hits[1].at_s - 0.36 < late.hits[1].at_s - 2.0 - 0.005


@pytest.mark.parametrize("ratio", [1e-3, 1e3])
def test_very_light_and_very_heavy_loads_are_carried_through(ratio: float) -> None:
    trace = move(replace(BASE.cylinder, load=Load(4.0 * ratio)), BASE.before, [OUT], 10.0)
    assert trace.final_m == BASE.cylinder.stroke_m


@pytest.mark.parametrize(("change", "words"), [
    ({"bore_m": 0.0}, "bore"), ({"load": Load(0.0)}, "mass"), ({"friction": Friction(30.0, 20.0)}, "friction"),
    ({"supply_pa": 5e4}, "supply"), ({"start_m": 9.0}, "start"), ({"out_m": 9.0}, "ends"),
    ({"spool": Spool(0.02, 0.03, 0.0)}, "valve times"), ({"supply_pa": float("nan")}, "supply"),
    ({"manifold": Manifold(0.0, Flow(4e-8, 0.35), 5e4, 9e5)}, "manifold"),
])
def test_what_no_cylinder_can_be_is_named(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        move(replace(BASE.cylinder, **change), BASE.before, [OUT], 1.0)


def test_a_time_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        move(BASE.cylinder, BASE.before, [OUT], 0.0)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_ports_are_made_as_the_reference_makes_them(case: Case) -> None:
    """C and b of every path of the reference cases, found anew from valve, muffler, tube and needle."""
    cylinder: CylinderAir = cylinder_of(case.raw["params"])
    for letter, port in (("A", cylinder.cap), ("B", cylinder.rod)):
        if port.open:
            continue
        said = case.raw["paths"][letter]
        enter, leave = ("tin", "tout") if said["node"] else ("rin", "rout")
        pairs = [(port.supply, "sup"), (port.exhaust, "exh"), (port.enter, enter), (port.leave, leave)]
        pairs += [(port.before, "pre")] if said["node"] else []
        for flow, name in pairs:
            assert (flow.c_m3_s_pa, flow.b) == pytest.approx(said[name], rel=1e-9)


def test_the_tube_is_a_volume_of_its_own_where_it_counts() -> None:
    way, end = Flow(1.3e-8, 0.3), End(1e-3, 1e-5, 1.5e-4)
    line = Line(way, way, 0.004, 0.3, control=FlowControl())
    assert port_of(line, end).node_m3 == 0.0
    long = port_of(replace(line, tube_length_m=3.0), end)
    assert long.node_m3 == pytest.approx(3.77e-5, rel=1e-2)
    assert long.dead_m3 == end.dead_m3
    assert port_of(replace(line, tube_length_m=0.0, control=None), end).enter.c_m3_s_pa > 1e-7
