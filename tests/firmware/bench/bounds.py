"""The compiler's bound of a program beside the worst tick that the image takes with it.

A bound is over all that a program can do; what is measured is the worst of some stories. So they come near one another
only where the stories bring about what the bound reckons with: here everything starts, ends and starts anew at once,
every input changes together, the board is armed and stopped, and the link is kept busy.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sequencer.board.profiles import Profile
from sequencer.board.protocol import ARM, DISARM, READ_LOG, FrameSpec
from sequencer.steps import InputKind, Program
from sequencer.steps.cycles import worst_tick
from sequencer.steps.random_program import random_program
from tests.firmware.bench.board import Packets, on_pins_of
from tests.firmware.bench.driver import CHIPS, Bench
from tests.firmware.bench.meter import Meter, ready, routine
from tests.firmware.bench.programs import busy
from tests.firmware.bench.random_cases import demo_case


@dataclass(frozen=True, slots=True)
class Compared:
    """Cycles of the worst tick: what was measured, and at most."""

    name: str
    board: str
    measured: int
    bound: int

    @property
    def ratio(self) -> float:
        return self.bound / self.measured

    def __str__(self) -> str:
        return f"{self.name:<34} {self.board:<8} measured {self.measured:>6,}  bound {self.bound:>6,}  {self.ratio:.2f}"


def bound_of(program: Program, profile: Profile) -> int:
    assert profile.costs is not None
    return worst_tick(program, profile.limits, profile.costs).cycles


def compare(name: str, program: Program, board: str, rounds: int = 12, ends: Sequence[int] = ()) -> Compared:
    """The worst tick of a few seconds in which all is asked of the program that can be."""
    return Compared(name, board, measured_worst(program, board, rounds, ends), bound_of(program, CHIPS[board].profile))


def measured_worst(program: Program, board: str, rounds: int, ends: Sequence[int] = ()) -> int:
    """All inputs trip and clear together, in `rounds`, some when runs are known to end: `ends`, in ms after a start."""
    bench, _ = ready(program, board)
    draws = random.Random(1)
    with bench:
        bench.do("tell nothing")
        packets = Packets()
        bench.do(f"ask 100 {packets.greeting().hex()}")
        bench.do("clear-worst")
        for n in range(rounds):
            _ask(bench, packets, ARM)
            _plan(bench, packets, program, (*ends, draws.choice((16, 50, 137, 400))))
            if n % 4 == 3:
                _all(bench, program, tripped=True, stops=True)
                bench.run_ms(3)
                _all(bench, program, tripped=False, stops=True)
                _ask(bench, packets, DISARM)
        return bench.stats()["worst"]


QUIET = 14
"""Ticks that the answer to the longest request takes at most."""


def _plan(bench: Bench, packets: Packets, program: Program, waits: Sequence[int]) -> None:
    """All inputs trip, again and again, so many ticks after one another; each time a request is done in that tick."""
    tick = bench.stats()["tick"] + QUIET
    triggers = [one for one in program.inputs if one.kind not in (InputKind.STOP, InputKind.ALARM)]
    bench.do("clear-plan")
    for wait in (0, *waits):
        tick += wait
        for tripped in (True, False):
            for sensor in triggers:
                name = bench.inputs[sensor.pin].name
                bench.do(f"at {tick} pin {name} {int(tripped != sensor.low_when_tripped)}")
            if tripped:
                bench.do(f"at {tick} send {packets.make(READ_LOG, first=0).hex()}")
                tick += 3
        tick -= 3
    bench.until_tick(tick + QUIET + 8)


def _ask(bench: Bench, packets: Packets, spec: FrameSpec, **values: int) -> None:
    bench.do(f"ask 100 {packets.make(spec, **values).hex()}")


def _all(bench: Bench, program: Program, tripped: bool, stops: bool = False) -> None:
    for sensor in program.inputs:
        if (sensor.kind in (InputKind.STOP, InputKind.ALARM)) == stops:
            bench.set_input(sensor.pin, tripped != sensor.low_when_tripped)


def together(board: str, count: int, rest: int) -> Program:
    """So many routines, all on one trigger, each of which fades an output for longer than it runs and sets another.

    With a rest they start anew while the fades are under way; without one they start anew as they end.
    """
    meter = Meter(board)
    outputs = meter.rows()
    fading = [row.pin for row in outputs if row.fades]
    plain = [row.pin for row in outputs if not row.fades]

    def lines(number: int) -> Iterator[tuple[str | int, ...]]:
        if number < len(fading):
            yield "fade", fading[number], 255, 255
        yield "set", plain[number % len(plain)], 1
        yield "wait", 50
        yield "set", plain[number % len(plain)], 0
        yield "wait", 1

    return meter.program(*(routine(*lines(n), group=n, rest=rest) for n in range(count)), outputs=outputs)


def programs(board: str) -> Iterator[tuple[str, Program, tuple[int, ...]]]:
    """Named programs, with the times after a start at which runs of theirs end."""
    meter = Meter(board)
    yield "no scare", meter.program(outputs=meter.rows()), ()
    yield "one scare", meter.program(routine(("set", 0, 1), ("wait", 50), ("set", 0, 0)), outputs=meter.rows()), (50,)
    one = routine(("fade", 0, 255, 40), ("set", 1, 1), ("wait", 50), ("set", 1, 0))
    yield "one scare that fades", meter.program(one, outputs=meter.rows()), (50,)
    yield "eight at once, with fades", together(board, 8, 40), (100,)
    yield "four that start as they end", together(board, 4, 0), (51, 51)
    loops = busy(meter.profile)
    resting = tuple(replace(row, rest=1000) for row in loops.routines)
    yield "eight in loops, fades, flashes", replace(loops, routines=resting), ()


def random_ones(board: str, count: int) -> Iterator[tuple[str, Program]]:
    """Random programs for the board's pins."""
    profile = CHIPS[board].profile
    for number in range(count):
        draws, program = random.Random(f"bound {board} {number}"), None
        while program is None:
            program = on_pins_of(random_program(draws, profile.limits), profile)
        yield f"random {number}", replace(program, heartbeat=0)


def compared(count: int = 20) -> Iterator[Compared]:
    """Everything, on both boards."""
    for board in CHIPS:
        for name, program, ends in programs(board):
            yield compare(name, program, board, ends=ends)
    yield compare("the demo", demo_case().program, "avr2560")
    for name, program in random_ones("avr328", count):
        yield compare(name, program, "avr328")
