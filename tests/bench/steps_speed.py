"""How fast the rules run: a ten-minute show of eight routines, in ticks a second and times real time.

Run: PYTHONPATH=. python tests/bench/steps_speed.py
"""

from __future__ import annotations

import statistics
import time

from sequencer.steps import (
    Input,
    Limits,
    Machine,
    Output,
    Program,
    Routine,
    Start,
    WhileRunning,
    encode,
    step,
)
from sequencer.steps.events import OutputEdge

TEN_MINUTES = 600_000
ROOM = Limits(program_bytes=4000, outputs=40, inputs=14)


def scare(output: int, group: int) -> Routine:
    """A lunge with lamps: about four edges a second while it runs."""
    steps = (
        step("fade", output, 255, 400),
        step("until", 1200),
        step("set", output + 1, 1),
        step("until", 2000),
        step("set", output + 1, 0),
        step("repeat", 8),
        step("pulse", output + 1, 120),
        step("until", 250),
        step("again"),
        step("wait_random", 300, 600),
        step("fade", output, 0, 1000),
        step("wait", 1000),
        step("end"),
    )
    return Routine(steps, every=(6000, 9000), group=group, while_running=WhileRunning.IGNORE)


def breathing(output: int, group: int) -> Routine:
    """An idle that flickers a lamp and swings it up and down."""
    steps = (
        step("flicker", output, 40, 200, 3000),
        step("wait", 3000),
        step("fade", output, 255, 1500),
        step("wait", 1500),
        step("fade", output, 20, 1500),
        step("wait", 1500),
        step("end"),
    )
    return Routine(steps, idle=True, group=group)


def yard() -> Program:
    """Four props, each with a scare that comes every 6 s to 9 s and an idle between; eight routines."""
    outputs = tuple(Output(pin, fades=pin % 2 == 0, longest_on=5000 * (pin % 2)) for pin in range(8))
    routines = []
    for prop in range(4):
        routines += [scare(2 * prop, prop), breathing(2 * prop, prop)]
    return Program(1, 1, outputs, (Input(1),), tuple(routines))


def busy() -> Program:
    """Eight routines that all run all the time and write every 20 ms to 90 ms."""
    routines = tuple(
        Routine(
            (
                step("repeat_for", TEN_MINUTES),
                step("set", i, 1),
                step("wait", 20 + i),
                step("set", i, 0),
                step("wait", 70 + i),
                step("again"),
                step("end"),
            ),
            starts=(Start(0),),
            group=i,
        )
        for i in range(8)
    )
    return Program(1, 2, tuple(Output(pin) for pin in range(8)), (Input(1),), routines)


def measure(name: str, program: Program) -> None:
    """Prints the median of five runs."""
    times, edges = [], 0
    for _ in range(5):
        machine = Machine(program, ROOM, 1)
        machine.set_input(0, True)
        machine.arm()
        machine.press(0, 10)
        begin = time.perf_counter()
        events = machine.advance(TEN_MINUTES)
        times.append(time.perf_counter() - begin)
        edges = sum(isinstance(event, OutputEdge) for event in events)
    median = statistics.median(times)
    print(
        f"{name}: {len(encode(program))} bytes, {edges} edges, {median:.3f} s; "
        f"{TEN_MINUTES / median:,.0f} ticks/s, {TEN_MINUTES / 1000 / median:,.0f} times real time"
    )


if __name__ == "__main__":
    measure("four props with scares and idles", yard())
    measure("eight routines without a pause", busy())
