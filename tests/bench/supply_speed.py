"""How fast a dry run with air is: python tests/bench/supply_speed.py.

A show of 60 s in which every cylinder on one manifold goes out and back every 5 s, run by the step machine, with the
shared supply and its tank and compressor. Demands: 16 cylinders at least 200 times real time, and 64 at most 5 times
the cost of 16. Three kinds of show: each cylinder in its turn, all at once, and each after a wait that is drawn anew
every time, in which no motion comes twice. The supply of 64 is four times that of 16, as it has to be.

Beside it the same equations in one system by `scipy.integrate.solve_ivp` (LSODA, rtol 1e-4, `tests/air/joint.py`),
on four cylinders for 2.2 s, and how far the shared supply is from it. Times are of the processor.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from sequencer.air.flow import Flow
from sequencer.air.shared_run import Yard as Hung
from sequencer.air.shared_run import shared_run
from sequencer.air.supply import Compressor, Node, PropAir, SupplyAir, Tank
from sequencer.dryrun.air_yard import AirYard
from sequencer.dryrun.motion import RodPlan
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import SpoolPlan
from sequencer.dryrun.timeline import Device, InputInfo, OutputInfo, RoutineInfo, Timeline, Yard
from sequencer.dryrun.triggers import Trigger
from sequencer.phrases import PinName
from sequencer.rig.compressor import Compressor as CompressorPart
from sequencer.rig.valve import Valve
from sequencer.steps import Input, InputKind, Limits, Output, Program, Routine, Start, step
from sequencer.units import read_quantity
from tests.air.joint import Joint, run_joint
from tests.air.yard import CASES, SET_PA, Feed, Told, joint_of, yard_of

TICKS, PERIOD, OUT = 60_000, 5_000, 2_500
KINDS = ("base_ext_horizontal", "vertical_up_ext", "small_bore_3/4_light", "no_fc_heavy_20kg", "base_lumped_ext",
         "vertical_hanging_ext_down")
DEMAND, MOST_RATIO, REPEATS = 200, 5.0, 3


def out_and_back(prop: int, drawn: bool) -> Routine:
    """Twelve rounds of 5 s; `drawn`: each after a wait of up to 1.5 s that is drawn anew."""
    wait = (step("wait_random", 1, 1500),) if drawn else ()
    rest = PERIOD - OUT - (800 if drawn else 0)
    return Routine(
        (step("repeat", 12), *wait, step("set", prop, 1), step("wait", OUT), step("set", prop, 0), step("wait", rest),
         step("again"), step("end")),
        starts=(Start(prop),), group=prop,
    )  # fmt: skip


def show(count: int, drawn: bool = False) -> Setup:
    outputs = tuple(Output(i) for i in range(count))
    inputs = tuple(Input(i, settle=1) for i in range(count))
    program = Program(3, 1, outputs, inputs, tuple(out_and_back(prop, drawn) for prop in range(count)))
    valve = Valve(name="valve", pin=PinName("box", "out0"), ports="5/2", unpowered="retracts")
    yard = Yard(
        "Sixty seconds",
        tuple(OutputInfo(i, f"valve{i}", f"valve{i}", Device.COIL, "only", f"out{i}", 0) for i in range(count)),
        tuple(InputInfo(i, f"s{i}", InputKind.TRIGGER) for i in range(count)),
        tuple(RoutineInfo(i, f"scare{i}", False) for i in range(count)), (),
    )  # fmt: skip
    spools = tuple(SpoolPlan(f"valve{i}", valve.model_copy(update={"name": f"valve{i}"}), i) for i in range(count))
    rods = tuple(RodPlan(f"ram{i}", f"valve{i}", "home", None) for i in range(count))
    limits = Limits(program_bytes=65_536, routines_running=count, outputs=count, inputs=count, routines=count)
    return Setup(program, limits, yard, spools, rods, (air_of(count, tuple(spool.valve for spool in spools)),))


def air_of(count: int, valves: tuple[Valve, ...]) -> AirYard:
    """Six kinds of cylinder, no two of one kind with the same load; the supply grows with their number."""
    props = []
    for at in range(count):
        cylinder = replace(CASES[KINDS[at % len(KINDS)]].cylinder, start_m=0.0, manifold=None)
        load = replace(cylinder.load, mass_kg=cylinder.load.mass_kg * (1 + 0.01 * (at // len(KINDS))))
        props.append(PropAir(f"ram{at}", replace(cylinder, load=load), ("E", "S"), 0))
    size = count / 16
    part = CompressorPart(name="shed", flow=read_quantity("12 scfm"), flow_at=read_quantity("90 psi"),
                          tank=read_quantity("80 gal"), cut_in=read_quantity("105 psi"),
                          cut_out=read_quantity("125 psi"))
    compressor = Compressor(part.flow.si * size, 8.2e5, 9.6e5)
    node = Node("bench", 1e-3 * size, Flow(8e-8 * size, 0.35), None, SET_PA)
    supply = SupplyAir(Tank(0.3 * size, 9.6e5, compressor), (node,))
    names = tuple(prop.name for prop in props)
    return AirYard(part, Hung(tuple(props), supply), names, valves, ("home",) * count, (), (("bench", 0),))


def timed(count: int, in_turn: bool, drawn: bool = False) -> tuple[float, Timeline]:
    """The least processor time of some runs, in s."""
    triggers = tuple(Trigger(f"s{i}", begins, begins + 50) for i in range(count)
                     for begins in [100 + (i * PERIOD // count if in_turn else 0)])
    best, timeline = float("inf"), None
    for _ in range(REPEATS):
        setup = show(count, drawn)
        begun = time.thread_time()
        timeline = run(setup, Asked(triggers, 1, TICKS))
        best = min(best, time.thread_time() - begun)
    assert timeline is not None
    return best, timeline


def beside_scipy() -> None:
    rows = [Told(name, 0.1 + 0.05 * at, 0.8) for at, name in enumerate(KINDS[:4])]
    feed = Feed(c=2e-8)
    yard, commands = yard_of(rows, feed)
    ours_s, theirs_s = [], []
    for _ in range(REPEATS):
        begun = time.thread_time()
        trace = shared_run(commands, yard, 2.2)
        ours_s.append(time.thread_time() - begun)
    for _ in range(2):
        begun = time.thread_time()
        run_joint(Joint(*joint_of(rows, feed)), 2.2, "LSODA", 1e-4)
        theirs_s.append(time.thread_time() - begun)
    exact = run_joint(Joint(*joint_of(rows, feed)), 2.2, "LSODA", 1e-7)
    late = []
    for at, prop in enumerate(trace.props):
        wanted = sorted(hit[1] for hit in exact.hits if hit[0] == at)
        for hit, when in zip(prop.hits, wanted, strict=True):
            told = rows[at].out_s if when < rows[at].out_s + 0.8 else rows[at].out_s + 0.8
            late.append(abs(hit.at_s - when) / (when - told))
    print(f"four cylinders, 2.2 s, nothing twice: {min(ours_s) * 1e3:.0f} ms; one system by LSODA rtol 1e-4: "
          f"{min(theirs_s) * 1e3:.0f} ms, {min(theirs_s) / min(ours_s):.0f} times as long")
    print(f"arrivals beside LSODA rtol 1e-7: median {statistics.median(late):.3%} off, worst {max(late):.3%}; "
          f"least pressure {trace.nodes[0].least.pressure_pa / exact.samples[1].min() - 1:+.3%}")


def main() -> None:
    print(f"{'60 s of cylinders out and back every 5 s':44} {'ms':>6} {'x real':>7}   least on the manifold, unsettled")
    found = {}
    for words, in_turn, drawn in (("in turn", True, False), ("all at once", False, False),
                                  ("after waits drawn anew", True, True)):
        for count in (16, 64):
            best, timeline = timed(count, in_turn, drawn)
            found[words, count] = best
            bench = next(one for one in timeline.series if one.of == "bench")
            strokes = sum(len(track.movements) for track in timeline.tracks)
            print(f"{f'{count} {words}, {strokes} motions':44} {best * 1e3:6.0f} {TICKS / 1000 / best:7.0f}   "
                  f"{min(value for _, value in bench.points) / 1000:.0f} kPa gauge, {len(timeline.notes)} notes")
    for words in ("in turn", "all at once", "after waits drawn anew"):
        print(f"64 to 16, {words}: {found[words, 64] / found[words, 16]:.2f} times the cost (at most {MOST_RATIO:g})")
    print(f"16 in turn, against {DEMAND} times real time: {TICKS / 1000 / found['in turn', 16] / DEMAND:.2f}")
    beside_scipy()


if __name__ == "__main__":
    main()
