"""How fast a dry run is: a ten-minute show of eight scares and an idle, with and without rods and sensors.

Run it: python tests/bench/dryrun_speed.py. The demand: at least 2,000 times real time without the air model. Times are
processor time, so that what else the machine does does not count.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

from sequencer.dryrun.as_json import as_json
from sequencer.dryrun.motion import RodPlan
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import SpoolPlan
from sequencer.dryrun.timeline import Device, InputInfo, OutputInfo, RoutineInfo, Yard
from sequencer.dryrun.triggers import Trigger
from sequencer.pages.terminal import draw_timeline
from sequencer.pages.terminal_view import View
from sequencer.phrases import PinName
from sequencer.rig.valve import Valve
from sequencer.steps import Input, InputKind, Limits, Output, Program, Routine, Start, step

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.dryrun.yards import Even, standing

TICKS = 600_000
PROPS = 8
DEMAND = 2000
REPEATS = 7


def scare(prop: int) -> Routine:
    """Lamp up, out, wait for the end, three flashes of the lamp, home, lamp down: about 6 s."""
    lamp, coil, end = prop, PROPS + prop, PROPS + prop
    return Routine(
        (
            step("fade", lamp, 255, 400),
            step("wait", 800),
            step("set", coil, 1),
            step("await_end", end, 1, 2000),
            step("flash", lamp, 250, 1500),
            step("wait", 1500),
            step("set", coil, 0),
            step("wait_random", 500, 400),
            step("repeat", 4),
            step("pulse", coil, 120),
            step("wait", 300),
            step("again"),
            step("fade", lamp, 0, 1000),
            step("wait", 1000),
            step("end"),
        ),
        starts=(Start(prop),),
        group=prop,
        rest=2000,
    )


def show() -> Setup:
    outputs = tuple(Output(i, fades=i < PROPS) for i in range(2 * PROPS))
    inputs = tuple(Input(i, settle=20) for i in range(PROPS))
    inputs += tuple(Input(PROPS + i, settle=5, kind=InputKind.END_OF_TRAVEL) for i in range(PROPS))
    routines = tuple(scare(prop) for prop in range(PROPS))
    program = Program(3, 1, outputs, inputs, routines)
    yard = Yard(
        "Ten minutes",
        tuple(
            OutputInfo(
                i,
                f"p{i % PROPS}",
                f"{'lamp' if i < PROPS else 'valve'}{i % PROPS}",
                Device.LAMP if i < PROPS else Device.COIL,
                "only",
                f"out{i}",
                0,
            )
            for i in range(2 * PROPS)
        ),
        tuple(InputInfo(i, f"s{i}", one.kind) for i, one in enumerate(inputs)),
        tuple(RoutineInfo(i, f"scare{i}", False) for i in range(PROPS)),
        (),
    )
    valve = Valve(name="valve", pin=PinName("box", "out0"), ports="5/2", unpowered="retracts")
    limits = Limits(program_bytes=16_384, routines_running=16, outputs=64, inputs=16, routines=128)
    spools = tuple(SpoolPlan(f"valve{i}", valve, PROPS + i) for i in range(PROPS))
    rods = tuple(
        RodPlan(
            f"ram{i}", f"valve{i}", "home", standing(Even(400_000, 400_000, 40_000)), ((PROPS + i, True),)
        )
        for i in range(PROPS)
    )
    return Setup(program, limits, yard, spools, rods)


def trips() -> tuple[Trigger, ...]:
    """Each sensor every 10 s, one after another."""
    return tuple(
        Trigger(f"s{prop}", begins + 1200 * prop, begins + 1200 * prop + 200)
        for begins in range(1000, TICKS - 10_000, 10_000)
        for prop in range(PROPS)
    )


def measure(setup: Setup, name: str) -> float:
    asked = Asked(trips(), 7, TICKS)
    times = []
    for _ in range(REPEATS):
        begin = time.process_time()
        timeline = run(setup, asked)
        times.append(time.process_time() - begin)
    took = statistics.median(times)
    print(
        f"{name:34} {1000 * took:7.1f} ms  {TICKS / 1000 / took:8.0f} times real time  "
        f"({len(timeline.edges)} edges, {len(timeline.events)} events)"
    )
    return TICKS / 1000 / took


def main() -> None:
    setup = show()
    without = measure(replace(setup, spools=(), rods=()), "rules alone")
    measure(setup, "with rods and end-of-travel sensors")
    timeline = run(setup, Asked(trips(), 7, TICKS))
    for name, make in (
        ("drawing", lambda: draw_timeline(timeline, View())),
        ("JSON", lambda: as_json(timeline)),
    ):
        begin = time.process_time()
        text = make()
        print(f"{name:34} {1000 * (time.process_time() - begin):7.1f} ms  ({len(text)} characters)")
    print(
        f"demand {DEMAND} times real time without the air model: {'met' if without >= DEMAND else 'NOT met'}"
    )


if __name__ == "__main__":
    main()
