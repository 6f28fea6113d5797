"""The loop of rules, motion and sensors: the same edges as stepping the rules tick by tick."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from sequencer.dryrun.motion import Rod
from sequencer.dryrun.session import Session, Setup, warmed
from sequencer.dryrun.spool import Spool, SpoolPlan
from sequencer.dryrun.timeline import InputInfo, MetKind, RoutineInfo, Yard
from sequencer.dryrun.triggers import Trigger
from sequencer.steps import InputKind, Limits, Machine, Mode, OutputEdge, Program, WhileRunning, step
from sequencer.steps.events import Event, InputChanged, ModeChanged, Started
from sequencer.steps.random32 import stir
from sequencer.steps.random_program import random_program
from tests.dryrun.yards import LUNGE, OUTPUTS, Even, lunge, rod, setup_of, standing, valve


def stepped(setup: Setup, seed: int, triggers: list[Trigger], ticks: int) -> list[Event]:
    """The plain way: every tick is run, every sensor asked where the rod is at that tick, nothing
    foreseen."""
    program = warmed(setup.program)
    machine = Machine(program, setup.limits, stir(seed))
    spools = {plan.name: Spool(plan) for plan in setup.spools}
    rods = [Rod(plan) for plan in setup.rods]
    levels = [output.safe for output in program.outputs]
    read: dict[int, bool] = {}
    names = {one.sensor: one.index for one in setup.yard.inputs}
    events: list[Event] = []

    def switch(tick: int) -> None:
        for name, spool in spools.items():
            plan = spool.plan
            back = plan.back is not None and levels[plan.back] > 0
            way = spool.coils_at(tick, levels[plan.coil] > 0, back)
            for one in rods:
                if one.plan.valve == name:
                    one.command(tick, way)

    def see(tick: int) -> None:
        tripped = Counter(names[one.sensor] for one in triggers if one.begins <= tick < one.ends)
        sees = {index: one.at_end(tick * 1000, out) for one in rods for index, out in one.plan.ends}
        for index, one in enumerate(program.inputs):
            state = tripped[index] > 0 or sees.get(index, False)
            if state != read.get(index, False):
                read[index] = state
                machine.set_input(index, state != one.low_when_tripped)

    see(0)
    switch(0)
    machine.arm()
    for tick in range(ticks):
        see(tick)
        if program.heartbeat and tick % (program.heartbeat // 2) == 0:
            machine.heartbeat()
        happened = machine.advance(tick + 1, every_tick=True)
        edges = [event for event in happened if isinstance(event, OutputEdge)]
        for edge in edges:
            levels[edge.output] = edge.level
        if edges:
            switch(tick)
        events += happened
    return events


def wired(program: Program, limits: Limits, lead_us: int) -> Setup:
    """Any program, with a rod on its first output and, where it has the inputs, a sensor at each end."""
    inputs = tuple(InputInfo(i, f"in{i}", one.kind) for i, one in enumerate(program.inputs))
    routines = tuple(RoutineInfo(i, f"r{i}", one.idle) for i, one in enumerate(program.routines))
    ends = tuple((i, i == 1) for i in (1, 2) if i < len(inputs))
    outputs = tuple(OUTPUTS[0] for _ in program.outputs)
    quick = Even(40_000, 90_000, lead_us, min(lead_us, 2000))
    return Setup(
        program,
        limits,
        Yard("", outputs, inputs, routines, ()),
        (SpoolPlan("window.shove", valve(), 0),),
        (rod(ends=ends, going=standing(quick)),),
    )


@pytest.mark.parametrize("seed", range(60))
def test_random_programs_give_the_edges_of_every_tick_stepped(seed: int) -> None:
    draws = random.Random(seed)
    limits = Limits()
    setup = wired(random_program(draws, limits), limits, draws.choice((1000, 1700, 12_000, 60_000)))
    triggers = []
    for _ in range(6):
        sensor, begins = draws.choice(setup.yard.inputs).sensor, draws.randrange(2500)
        triggers.append(Trigger(sensor, begins, begins + draws.randint(1, 400)))
    session = Session(setup, seed + 1)
    for trigger in triggers:
        session.add_trigger(trigger)
    session.advance(3000)
    plain = stepped(setup, seed + 1, triggers, 3000)
    assert session.edges == [event for event in plain if isinstance(event, OutputEdge)]
    assert session.events == [event for event in plain if not isinstance(event, OutputEdge)]


def test_the_lunge_gives_the_edges_of_every_tick_stepped_and_its_sensors_answer() -> None:
    setup = setup_of(LUNGE)
    triggers = [Trigger("step", 2000, 2200)]
    session = Session(setup, 7)
    session.add_trigger(triggers[0])
    session.advance(9000)
    plain = stepped(setup, 7, triggers, 9000)
    assert session.edges == [event for event in plain if isinstance(event, OutputEdge)]
    assert session.events == [event for event in plain if not isinstance(event, OutputEdge)]
    assert InputChanged(3221, 1, True) in session.events


def test_a_step_that_waits_for_the_end_of_a_motion_goes_on_when_the_rod_is_there() -> None:
    """Trip at 2 s, settled 20 ms later; coil 740 ms after that; 99 % of the stroke at 60 + 396 ms; settled 5
    ms later: 3,221 ms. The coil goes off 800 ms after."""
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 2000, 2200))
    session.advance(9000)
    coil = [(edge.tick, edge.level) for edge in session.edges if edge.output == 1]
    assert coil == [(2760, 255), (4021, 0)]


def test_it_makes_no_difference_in_which_leaps_a_session_is_advanced() -> None:
    whole, bits = Session(setup_of(LUNGE), 7), Session(setup_of(LUNGE), 7)
    for one in (whole, bits):
        one.add_trigger(Trigger("step", 300, 500))
    whole.advance(6000)
    draws = random.Random(3)
    while bits.tick < 6000:
        bits.advance(min(bits.tick + draws.randint(1, 170), 6000))
    assert whole.timeline() == bits.timeline()


def test_a_sensor_that_sees_the_rod_where_it_rests_starts_nothing_at_power_up() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.advance(100)
    assert session.timeline().tripped_at_start == (2,)
    assert not [event for event in session.events if isinstance(event, InputChanged)]


def test_a_dead_end_sensor_is_met_as_late() -> None:
    session = Session(setup_of(LUNGE, plan=rod()), 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(6000)
    met = [one for one in session.met if one.kind is MetKind.END_LATE]
    assert [one.tick for one in met] == [100 + 20 + 740 + 3000]
    assert "window.ram_out" in met[0].sentence


def test_a_motion_cut_short_is_met_with_how_far_it_got() -> None:
    short = lunge(step("set", 1, 1), step("wait", 260), step("set", 1, 0), step("wait", 1000))
    session = Session(setup_of(short), 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(3000)
    (met,) = [one for one in session.met if one.kind is MetKind.CUT_SHORT]
    assert "65 %" in met.sentence


def test_a_command_to_where_the_rod_stands_is_met() -> None:
    twice = lunge(step("pulse", 1, 200), step("wait", 2000), step("pulse", 1, 200), step("wait", 2000))
    setup = setup_of(twice)
    both = valve(solenoids=2)
    setup = Setup(
        setup.program, setup.limits, setup.yard, (SpoolPlan("window.shove", both, 1, 2),), setup.rods
    )
    session = Session(setup, 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(5000)
    (met,) = [one for one in session.met if one.kind is MetKind.ALREADY_THERE]
    assert met.tick == 2120
    assert len(session.timeline().tracks[0].movements) == 1


def test_limits_and_exclusions_of_the_board_are_met() -> None:
    long = lunge(step("set", 1, 1), step("wait", 4000))
    session = Session(setup_of(long, longest_on=1000), 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(3000)
    (met,) = [one for one in session.met if one.kind is MetKind.LONGEST_ON]
    assert (met.tick, met.who) == (1120, "window.shove")


def test_a_skipped_trigger_is_met_with_its_reason() -> None:
    session = Session(setup_of(LUNGE), 7)
    for begins in (100, 1000):
        session.add_trigger(Trigger("step", begins, begins + 200))
    session.advance(2000)
    (met,) = [one for one in session.met if one.kind is MetKind.SKIPPED]
    assert "still running" in met.sentence


def test_a_trip_shorter_than_the_sensor_settles_counts_for_nothing_and_is_met() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 100, 119))
    session.advance(2000)
    assert [one.kind for one in session.met] == [MetKind.TOO_SHORT]
    assert not [event for event in session.events if isinstance(event, InputChanged) and event.input == 0]


def test_warm_sensors_start_scares_at_once_and_cold_ones_do_not() -> None:
    for cold, starts in ((False, 1), (True, 0)):
        session = Session(setup_of(LUNGE), 7, cold)
        session.add_trigger(Trigger("step", 2000, 2200))
        session.advance(4000)
        assert len([event for event in session.events if isinstance(event, Started)]) == starts


def test_the_heartbeat_that_a_show_asks_for_is_kept_up() -> None:
    session = Session(setup_of(LUNGE, heartbeat=500), 7)
    session.advance(60_000)
    assert [event.mode for event in session.events if isinstance(event, ModeChanged)] == [Mode.ARMED]


def test_a_stop_ends_everything_and_sends_the_rod_home_until_somebody_arms_again() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(1400)
    session.stop()
    session.advance(3000)
    modes = [event for event in session.events if isinstance(event, ModeChanged)]
    assert (modes[-1].tick, modes[-1].mode) == (1410, Mode.STOPPED)
    session.trip(0, 220)
    session.advance(4000)
    assert session.timeline().tracks[0].points[-1][1] == 0
    assert session.arm() is None
    session.trip(0, 220)
    session.advance(4500)
    assert [event.tick for event in session.events if isinstance(event, Started)] == [120, 4020]


def test_a_sensor_that_is_tripped_while_the_board_is_armed_starts_nothing_and_is_met() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 0, 200))
    session.advance(2000)
    assert [one.kind for one in session.met] == [MetKind.HELD_AT_ARMING]
    assert not [event for event in session.events if isinstance(event, Started)]


def test_two_that_stand_on_a_sensor_hold_it_until_both_have_left() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 100, 500))
    session.add_trigger(Trigger("step", 300, 900))
    session.advance(2000)
    changes = [
        (event.tick, event.tripped)
        for event in session.events
        if isinstance(event, InputChanged) and event.input == 0
    ]
    assert changes == [(120, True), (920, False)]


def test_the_air_of_every_stroke_is_counted() -> None:
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("step", 100, 300))
    session.advance(5000)
    assert session.timeline().air_std_l == pytest.approx(2 * 1.25)


def test_a_once_more_scare_runs_twice() -> None:
    again = lunge(
        step("set", 1, 1),
        step("wait", 1000),
        step("set", 1, 0),
        step("wait", 500),
        while_running=WhileRunning.ONCE_MORE,
    )
    session = Session(setup_of(again), 7)
    for begins in (100, 500):
        session.add_trigger(Trigger("step", begins, begins + 200))
    session.advance(9000)
    assert len([event for event in session.events if isinstance(event, Started)]) == 2


def test_inputs_of_other_kinds_than_triggers_are_read_as_what_they_are() -> None:
    assert setup_of(LUNGE).program.inputs[3].kind is InputKind.STOP
    session = Session(setup_of(LUNGE), 7)
    session.add_trigger(Trigger("mushroom", 500, 900))
    session.advance(1000)
    assert [event.tick for event in session.events if isinstance(event, ModeChanged)] == [0, 510]
