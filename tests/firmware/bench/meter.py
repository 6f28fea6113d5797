"""The cycles of single ticks of the shipped image: what a program costs, tick by tick."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from sequencer.board.frames import Value
from sequencer.board.link import Link
from sequencer.board.profiles import Profile
from sequencer.board.protocol import FrameSpec
from sequencer.steps import Clip, Input, Output, Program, Routine, Start, Step, encode
from sequencer.steps.table import step
from tests.firmware.bench.board import Packets, linked, memory_with
from tests.firmware.bench.driver import CHIPS, Bench

Act = Callable[[Bench], None]


def pin(index: int, high: bool) -> Act:
    """Holds an input of the profile at a level."""
    return lambda bench: bench.set_input(index, high)


def ready(program: Program, board: str) -> tuple[Bench, Link]:
    """A board under power that holds the program, all its inputs clear, greeted."""
    bench = Bench(board, memory=memory_with(CHIPS[board].profile, encode(program)))
    for sensor in program.inputs:
        bench.set_input(sensor.pin, sensor.low_when_tripped)
    bench.power_on()
    bench.run_ms(150)
    return bench, linked(bench)


def ticks_of(
    program: Program, board: str, acts: Mapping[int, Sequence[Act]], count: int, armed: bool = True
) -> list[int]:
    """The cycles of `count` ticks, each with what is done just before it. Tick 0 comes when all is at rest; what the
    board must know of, such as arming, has been said long before."""
    bench, link = ready(program, board)
    with bench:
        bench.do("tell nothing")
        if armed:
            link.arm()
        bench.run_ms(30)
        begun = bench.stats()["tick"]
        begun += 2 - begun % 2  # what is held is counted in every other tick
        bench.until_tick(begun)
        found = []
        for tick in range(count):
            for act in acts.get(tick, ()):
                act(bench)
            bench.until_tick(begun + tick + 1)
            found.append(bench.stats()["latest"])
    return found


def request_cycles(program: Program, board: str, spec: FrameSpec, armed: bool = True, **values: Value) -> int:
    """The most that the tick in which a request is done takes above one at rest."""
    bench, link = ready(program, board)
    with bench:
        bench.do("tell nothing")
        if armed:
            link.arm()
        packets = Packets()
        bench.do(f"send {packets.greeting().hex()}")
        bench.run_ms(30)
        bench.do("clear-worst")
        bench.run_ms(20)
        at_rest = bench.stats()["worst"]
        bench.do("clear-worst")
        bench.do(f"ask 100 {packets.make(spec, **values).hex()}")
        worst = bench.stats()["worst"]
        if not armed:  # then it is arming, and an armed board has more to do in every tick
            bench.run_ms(30)
            bench.do("clear-worst")
            bench.run_ms(20)
            at_rest = bench.stats()["worst"]
        return worst - at_rest


def link_cycles(board: str, program: Program) -> int:
    """The most that the bytes add to a tick shorter than the time between two of them: what one byte takes."""
    bench, link = ready(program, board)
    with bench:
        bench.do("tell nothing")
        link.arm()
        bench.run_ms(30)
        bench.do("clear-worst")
        bench.run_ms(20)
        at_rest = bench.stats()["worst"]
        bench.do("clear-worst")
        bench.do(f"send {'55' * 60 * 8}")
        bench.run_ms(45)
        return bench.stats()["worst"] - at_rest


TRIGGER, OTHER = 0, 1
"""Inputs: what starts the routines in question, and one that starts nothing."""
LONG = 16_000
GO = 20
"""The tick in which the step in question is taken: the trigger has long come to rest."""
TRIPS: dict[int, Sequence[Act]] = {0: [pin(TRIGGER, False)]}
MET = ("wait", 100)
"""What a routine that is due does at least: this step's own cost counts with the run."""

Line = tuple[str | int, ...]
Lines = Sequence[Line]


def steps_of(lines: Lines) -> tuple[Step, ...]:
    return (*(step(str(op), *map(int, args)) for op, *args in lines), Step("end"))


def routine(*lines: Line, by: int | None = TRIGGER, **facts: object) -> Routine:
    starts = () if by is None else (Start(by),)
    return Routine(steps_of(lines), starts, **facts)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Meter:
    """Ticks of one kind of board."""

    board: str

    @property
    def profile(self) -> Profile:
        return CHIPS[self.board].profile

    def program(self, *routines: Routine, outputs: Sequence[Output] = (), inputs: int = 2) -> Program:
        rows = tuple(Input(n) for n in range(inputs))
        clips = tuple(Clip(o, 20) for o in range(min(len(outputs), 2)))
        return Program(self.profile.kind, 1, tuple(outputs), rows, routines, clips)

    def ticks(self, program: Program, count: int, acts: dict[int, Sequence[Act]] | None = None) -> list[int]:
        return ticks_of(program, self.board, TRIPS if acts is None else acts, count)

    def rows(self, **facts: int) -> tuple[Output, ...]:
        """Every output of the board."""
        return tuple(Output(one.index, fades=one.fades, **facts) for one in self.profile.outputs)

    @property
    def ends(self) -> tuple[int, int]:
        """An output that fades and one that does not, each the last of its kind."""
        fading = [one.index for one in self.profile.outputs if one.fades]
        return fading[-1], len(self.profile.outputs) - 1

    def at_go(self, *lines: Line, before: Lines = (), tick: int = GO) -> int:
        """The cycles of the tick in which a routine comes to these lines, all outputs being there."""
        made = routine(*before, ("wait", GO), *lines)
        helper = routine(("set", 1, 1), ("wait", LONG))
        return self.ticks(self.program(made, helper, outputs=self.rows()), tick + 1)[tick]
