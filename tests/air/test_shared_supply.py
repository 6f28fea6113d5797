"""Laws of several cylinders on one supply."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air import recordings
from sequencer.air.cylinder import Spool
from sequencer.air.flow import Flow
from sequencer.air.manifold import ROUGH, Cells
from sequencer.air.shared import SharedAir
from sequencer.air.shared_run import Yard, shared_run, trace_of
from sequencer.air.spool import Command
from sequencer.air.supply import Compressor, Node, NozzleAir, PropAir, SupplyAir, Tank
from tests.air.case_form import Case, read_cases
from tests.air.yard import CASES, SET_PA, Feed, Told, yard_of

STIFF = 10.0, Flow(1e-4, 0.3)
"""A volume and a way so large that nothing a cylinder draws is felt."""


def on_stiff_supply(case: Case) -> Yard:
    cylinder = replace(case.cylinder, manifold=None)
    node = Node("stiff", STIFF[0], STIFF[1], None, cylinder.supply_pa, 1e3)
    return Yard((PropAir(case.name, cylinder, case.before, 0),), SupplyAir(Tank(1e6, 2e6), (node,)))


@pytest.mark.parametrize("case", [case for case in read_cases() if case.cylinder.manifold is None],
                         ids=lambda case: case.name)
def test_alone_on_a_stiff_supply_a_cylinder_moves_as_it_does_by_itself(case: Case) -> None:
    ours = shared_run([(0, command) for command in case.commands], on_stiff_supply(case), case.until_s).props[0]
    alone = case.move()
    assert len(ours.hits) == len(alone.hits)
    for one, other in zip(ours.hits, alone.hits, strict=True):
        assert one.at_s == pytest.approx(other.at_s, rel=0.03 if case.sticks else 2e-3)
        if not case.sticks:
            assert one.v_m_s == pytest.approx(other.v_m_s, rel=0.01)
    assert ours.air_std_l == pytest.approx(alone.air_std_l, rel=0.01, abs=1e-3)
    assert ours.exhausted_std_l == pytest.approx(alone.exhausted_std_l, rel=0.01, abs=1e-3)


def test_a_manifold_that_one_cylinder_draws_from_is_as_in_the_reference_case() -> None:
    """`supply_node_small_regulator`: end met, speed, least pressure."""
    case = CASES["supply_node_small_regulator"]
    manifold = case.cylinder.manifold
    assert manifold is not None
    node = Node("bench", manifold.volume_m3, manifold.regulator, None, case.cylinder.supply_pa, manifold.band_pa)
    props = (PropAir("one", replace(case.cylinder, manifold=None), case.before, 0),)
    supply = SupplyAir(Tank(1e6, manifold.inlet_pa), (node,))
    ours = shared_run([(0, one) for one in case.commands], Yard(props, supply), case.until_s)
    (at, _, v), = case.raw["reference"]["end_hits"]
    assert ours.props[0].hits[0].at_s == pytest.approx(at, rel=2e-3)
    assert ours.props[0].hits[0].v_m_s == pytest.approx(v, rel=5e-3)
    assert ours.nodes[0].least.pressure_pa == pytest.approx(case.move().least_supply_pa, rel=1e-3)


MOMENTS = st.lists(st.tuples(st.integers(0, 2), st.integers(0, 200)), min_size=1, max_size=12)


@settings(max_examples=25, deadline=None)
@given(MOMENTS, st.sampled_from([1.2e-8, 4e-8]), st.booleans())
def test_no_air_is_lost_whatever_the_valves_are_told(moments: list[tuple[int, int]], c: float, shared: bool) -> None:
    """Tank, nodes, tubes, chambers, what was let out and what the compressor gave: closed to 1 part in 1,000."""
    rows = [Told("base_ext_horizontal", 0, 0), Told("vertical_up_ext", 0, 0), Told("base_lumped_ext", 0, 0)]
    yard, _ = yard_of(rows, Feed(c=c, tank_m3=0.01, tank_pa=8e5))
    props = tuple(replace(prop, valve="v" if shared and at < 2 else None) for at, prop in enumerate(yard.props))
    compressor = Compressor(2e-3, 8.5e5, 9.5e5, 0.5, 4.0)
    supply = replace(yard.supply, tank=replace(yard.supply.tank, compressor=compressor, leak_m3_s=1e-4))
    nozzle = NozzleAir("jet", Flow(0.5e-8, 0.3), Spool(), 0)
    air = SharedAir(props, supply, (nozzle,))
    before, out = air.held_kg(), [False] * 4
    for number, at in sorted(moments, key=lambda one: one[1]):
        for same in ((0, 1) if shared and number < 2 else (number,)):
            out[same] = not out[same]
            air.tell(same, Command(at / 100, *(("S", "E") if out[same] else ("E", "S")), out[same]))
    air.tell(3, Command(2.0, "S", "X", True))
    air.tell(3, Command(2.1, "X", "X", False))
    air.advance(3.5)
    booked = [mover.booked_kg(air.now_s, air.standing[0]) for mover in air.movers]
    gone = sum(exhausted for _, exhausted in booked) + air.nozzles[0].supplied_kg + air.tank.lost_kg
    came = air.tank.delivered_kg
    left = air.held_kg() + sum(mover.exhausted_kg for mover in air.movers) + air.nozzles[0].supplied_kg
    assert before + came - left - air.tank.lost_kg == pytest.approx(0.0, abs=1e-3 * gone)
    supplied = sum(kg for kg, _ in booked) + air.nozzles[0].supplied_kg
    assert supplied >= -1e-9


def test_commands_may_come_as_time_goes_on_or_all_be_known() -> None:
    rows = (("base_ext_horizontal", 0.1), ("vertical_up_ext", 0.12), ("no_fc_heavy_20kg", 0.2))
    told = [Told(name, at_s, 0.7) for name, at_s in rows]
    yard, commands = yard_of(told, Feed())
    known = shared_run(commands, yard, 1.6)
    air = SharedAir(yard.props, yard.supply)
    for number, command in sorted(commands, key=lambda one: one[1].at_s):
        air.tell(number, command)
    air.advance(1.6)
    assert trace_of(air) == known
    air = SharedAir(yard.props, yard.supply)
    ahead = sorted(commands, key=lambda one: one[1].at_s)
    for tick in range(1600):
        while ahead and ahead[0][1].at_s * 1000 <= tick:
            air.command(*ahead.pop(0))
        if tick % 7 == 0:
            air.advance(tick / 1000)
    air.advance(1.6)
    for one, other in zip(trace_of(air).props, known.props, strict=True):
        for hit, same in zip(one.hits, other.hits, strict=True):
            assert hit.at_s == pytest.approx(same.at_s, rel=5e-3)


def test_the_more_move_at_once_the_later_each_arrives_and_the_lower_the_pressure() -> None:
    arrivals, least = [], []
    for count in (1, 2, 4, 8):
        yard, commands = yard_of([Told("no_fc_heavy_20kg", 0.1, 2.0)] * count, Feed(c=1e-8))
        trace = shared_run(commands, yard, 1.5)
        arrivals.append(trace.props[0].hits[0].at_s)
        least.append(trace.nodes[0].least.pressure_pa)
    assert arrivals == sorted(arrivals) and arrivals[-1] > 1.1 * arrivals[0]
    assert least == sorted(least, reverse=True)


def test_a_second_motion_finds_the_pressure_that_the_first_left() -> None:
    def arrival(gap_s: float) -> float:
        yard, commands = yard_of([Told("base_ext_horizontal", 0.1, 3.0), Told("no_fc_heavy_20kg", 0.1 + gap_s, 3.0)],
                                 Feed(c=0.5e-8))
        return shared_run(commands, yard, 3.0 + gap_s).props[1].hits[0].at_s - gap_s

    late = [arrival(gap) for gap in (0.1, 0.3, 0.6, 1.5)]
    # A window more or less moves an arrival by up to 0.3 %.
    assert all(one > 0.996 * then for one, then in pairwise(late))
    assert late[0] > 1.01 * late[-1]


def test_who_pulled_a_manifold_down_is_named_the_most_first() -> None:
    yard, commands = yard_of([Told("base_ext_horizontal", 0.1, 2.0), Told("no_fc_heavy_20kg", 0.12, 2.0),
                              Told("vertical_up_ext", 2.0, 1.0)], Feed(c=1.5e-8))
    least = shared_run(commands, yard, 1.9).nodes[0].least
    assert [name.rpartition(" ")[2] for name, _ in least.drawn_std_l] == ["1", "0"]
    assert 0.1 <= least.since_s < least.at_s < 0.6
    assert least.pressure_pa < least.from_pa == SET_PA


def test_what_is_followed_again_is_as_if_reckoned_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    rows: Sequence[Told] = [Told(name, 0.1 + 0.11 * at, 0) for at, name in enumerate(
        ("base_ext_horizontal", "vertical_up_ext", "no_fc_heavy_20kg", "base_ext_horizontal"))]
    yard, _ = yard_of(rows, Feed(tank_m3=0.05))
    commands = [(at, Command(one.out_s + 2 * turn + (1.0 if home else 0.0), *(("E", "S") if home else ("S", "E")),
                             not home))
                for turn in range(6) for at, one in enumerate(rows) for home in (False, True)]
    followed = shared_run(commands, yard, 12.0)
    monkeypatch.setattr(recordings, "NEAR", -1.0)
    anew = shared_run(commands, yard, 12.0)
    for one, other in zip(followed.props, anew.props, strict=True):
        assert one.air_std_l == pytest.approx(other.air_std_l, rel=5e-3)
        for hit, same in zip(one.hits, other.hits, strict=True):
            begun = max(at for at in (command.at_s for _, command in commands) if at < same.at_s)
            assert hit.at_s - begun == pytest.approx(same.at_s - begun, abs=0.005 * (same.at_s - begun) + 1e-3)


def test_a_rod_that_the_air_holds_up_sinks_when_the_pressure_is_gone() -> None:
    """A weight on a vented bore comes down once the supply cannot hold it."""
    rows = [Told("vertical_up_ext", 0.1, 60.0, 20.0), *[Told("base_ext_horizontal", 3.0, 0.0)] * 3]
    yard, _ = yard_of(rows, Feed(c=4e-8, tank_m3=0.004, tank_pa=7e5))
    commands = [(0, Command(0.1, "S", "E", True))]
    commands += [(number, Command(3.0 + 0.5 * turn, *(("S", "E") if turn % 2 == 0 else ("E", "S")), turn % 2 == 0))
                 for turn in range(30) for number in (1, 2, 3)]
    trace = shared_run(commands, yard, 22.0)
    assert trace.props[0].hits[0].end == "out"
    assert trace.props[0].track[-1][1] < 0.1 * CASES["vertical_up_ext"].cylinder.stroke_m
    assert trace.nodes[0].least.pressure_pa < 3e5


def test_air_blown_out_is_what_the_closed_form_says() -> None:
    """Choked, from a manifold that is kept at its pressure: C p_ANR p for as long as it is open."""
    node = Node("stiff", STIFF[0], STIFF[1], None, SET_PA, 1e3)
    nozzle = NozzleAir("jet", Flow(1e-8, 0.3), Spool(0.02, 0.03, 0.006), 0)
    trace = shared_run([(0, Command(0.1, "S", "X", True)), (0, Command(0.35, "X", "X", False))],
                       Yard((), SupplyAir(Tank(1e6, 2e6), (node,)), (nozzle,)), 1.0)
    # Open for 0.25 s + 10 ms of later closing; the ramps of 6 ms each pass half, less the closed crossover.
    opened = 0.25 + 0.01
    assert trace.nozzles_std_l[0] == pytest.approx(1e-8 * SET_PA * opened * 1000, rel=0.02)


@pytest.mark.parametrize(("change", "word"), [
    ({"tank": Tank(0.0, 9e5)}, "tank"), ({"tank": Tank(0.1, 9e5, Compressor(1e-3, 9e5, 8e5))}, "cut-in"),
    ({"tank": Tank(0.1, 9e5, Compressor(1e-3, 8e5, 9e5, 0.0))}, "duty"),
    ({"nodes": (Node("bench", 0.0, Flow(1e-8, 0.3)),)}, "volume"),
    ({"nodes": (Node("bench", 1e-3, Flow(0.0, 0.3)),)}, "nothing"),
    ({"nodes": (Node("bench", 1e-3, Flow(1e-8, 0.3), 0),)}, "behind"),
    ({"nodes": (Node("bench", 1e-3, Flow(1e-8, 0.3), None, SET_PA, 0.0),)}, "band"),
    ({"nodes": ()}, "no node"),
])
def test_what_is_no_supply_is_refused_with_its_figure(change: dict[str, object], word: str) -> None:
    yard, commands = yard_of([Told("base_ext_horizontal", 0.1, 0.5)], Feed())
    with pytest.raises(ValueError, match=word):
        shared_run(commands, replace(yard, supply=replace(yard.supply, **change)), 1.0)  # type: ignore[arg-type]


def test_a_command_before_now_is_refused() -> None:
    yard, _ = yard_of([Told("base_ext_horizontal", 0.1, 0.5)], Feed())
    air = SharedAir(yard.props, yard.supply)
    air.advance(1.0)
    with pytest.raises(ValueError, match="nothing can be told"):
        air.command(0, Command(0.5, "S", "E", True))


@pytest.mark.parametrize("start_pa", [400_000.0, 526_081.0, 700_000.0])
@pytest.mark.parametrize("step_s", [0.02, 0.5])
def test_air_that_stands_still_comes_to_the_pressure_of_its_node_however_long_the_step(
    start_pa: float, step_s: float
) -> None:
    """The way back is a needle that is nearly shut, the way in is not: a long step once swung between the two."""
    set_pa = 515_010.0
    cells = Cells((Node("prop", 1e-4, Flow(4e-8, 0.35), None, set_pa, 0.05e5),), 9e5)
    still = cells.cells[1]
    still.volume_m3, still.pressure_pa = 1.58e-4, start_pa
    still.into, still.back = Flow(7.4e-9, 0.02), Flow(1.65e-9, 0.26)
    for _ in range(round(20 / step_s)):
        cells.accept(step_s, cells.step(step_s, 9e5, (0.0,)), (0.0,))
    assert still.pressure_pa == pytest.approx(set_pa, rel=1e-3)


@given(st.lists(st.floats(1.2e5, 5e5), min_size=1, max_size=8), st.floats(2e5, 8e5), st.sampled_from([0.02, 0.08, 0.5]))
@settings(max_examples=60, deadline=None)
def test_air_only_flows_down_however_many_regulators_open_at_once(
    starts: list[float], manifold_pa: float, step_s: float
) -> None:
    """Small volumes behind wide regulators once emptied their manifold, and were filled above what feeds them. A step
    may be rough by `ROUGH` where it is long, and two parts of it by twice that."""
    set_pa, tank_pa = 515_010.0, 9e5
    nodes = [Node("bench", 3e-4, Flow(2e-8, 0.3))]
    nodes += [Node(f"prop {at}", 1e-4, Flow(4e-8, 0.35), 0, set_pa) for at in range(len(starts))]
    cells = Cells(nodes, tank_pa)
    cells.cells[0].pressure_pa = manifold_pa
    still = cells.cells[len(nodes) + 1]
    still.volume_m3, still.pressure_pa = 4e-4, starts[0]
    still.into, still.back = Flow(7.4e-9, 0.02), Flow(1.65e-9, 0.26)
    for at, start_pa in enumerate(starts, 1):
        cells.cells[at].pressure_pa = start_pa
    lowest = min(manifold_pa, *starts)
    for _ in range(round(2 / step_s)):
        cells.accept(step_s, cells.step(step_s, tank_pa, [0.0] * len(nodes)), [0.0] * len(nodes))
        assert lowest * (1 - 2 * ROUGH) <= min(cells.node_pa(at) for at in range(len(nodes)))
        assert max(cells.node_pa(at) for at in range(1, len(nodes))) <= set_pa + 1
        assert still.pressure_pa <= set_pa * (1 + 2 * ROUGH)
        assert cells.node_pa(0) <= tank_pa * (1 + 2 * ROUGH)
