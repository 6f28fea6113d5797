"""A small yard as text, its plan and program, and runs of it on the board's own rules; nothing here is a test."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from sequencer.air.stroke import predict_stroke
from sequencer.board.profiles import HOST, Profile
from sequencer.checks.facts import Facts
from sequencer.checks.landings import taken
from sequencer.findings import Finding, has_errors
from sequencer.language.resolve import read_show
from sequencer.schedule import Compiled, Plan, PlannedRoutine, compile_plan, plan_show
from sequencer.show import Show
from sequencer.steps import Ended, Event, Machine, OutputEdge, Program, Started

RIG = '''show "Marrow Lane"
board box like host
sensor go: on box in0, low when tripped, settles in 0 ms
sensor mat: on box in1, low when tripped, settles in 0 ms
sensor up: on box in2, low when tripped, settles in 0 ms, sees riser out
valve shove like valve_5_2_quarter: on box out1
cylinder ram:
    on shove
    bore 1-1/2 in, rod 7/16 in, stroke 12 in
    measured out 0.42 s, back 0.9 s
valve kick like valve_5_2_double_quarter: on box out2, back on box out3
cylinder lever:
    on kick
    bore 3/4 in, rod 1/4 in, stroke 2 in
    measured out 0.25 s, back 0.3 s
valve raise like valve_5_3_closed_quarter: on box out4, back on box out5
cylinder riser:
    on raise
    bore 2 in, rod 5/8 in, stroke 18 in
    measured out 1.2 s, back 1 s
lamp a: on box out6
lamp b: on box out7
lamp c: on box out8
lamp glow: on box pwm0
fogger mist: on box out9
speaker horn: on box out10
    clip bell "bell.wav"
'''
CLIPS = {("horn", "bell"): 700_000}


@dataclass(frozen=True, slots=True)
class Made:
    show: Show
    plan: Plan
    findings: tuple[Finding, ...]

    @property
    def first(self) -> PlannedRoutine:
        return self.plan.routines[0]

    @property
    def codes(self) -> list[str]:
        return [finding.code for finding in self.findings]

    @property
    def fine(self) -> bool:
        return not has_errors(self.findings)

    def compiled(self, profile: Profile = HOST) -> Compiled:
        return compile_plan(self.show, self.plan, profile)


def scare(*lines: str, head: str = "scare lunge on go trips:") -> str:
    """The rig with one scare of these lines."""
    return RIG + head + "\n" + "".join(f"    {line}\n" for line in lines)


def planned(text: str) -> Made:
    """Text -> plan; the text itself must be right."""

    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    resolved = read_show(text.encode(), "yard.show", no_file)
    assert not has_errors(resolved.findings), [finding.message for finding in resolved.findings]
    facts = Facts(resolved.show, True, {})
    takes = partial(taken, facts) if resolved.show.of_kind("compressor") else None
    plan, findings = plan_show(resolved.show, predict_stroke, CLIPS, takes=takes)
    return Made(resolved.show, plan, findings)


def lunge(*lines: str) -> Made:
    """The plan of one scare."""
    return planned(scare(*lines))


def without_limits(program: Program) -> Program:
    """The same program on a board that holds no change back, so that what is asked for is what comes out."""
    free = tuple(replace(one, shortest_on=0, shortest_off=0, longest_on=0, exclusion=0) for one in program.outputs)
    return replace(program, outputs=free)


@dataclass(frozen=True, slots=True)
class Ran:
    """Events of one run, counted from the tick in which it started; `ended` None: not within the time."""

    edges: tuple[OutputEdge, ...]
    ended: int | None
    events: tuple[Event, ...]

    def of(self, output: int) -> list[tuple[int, int]]:
        return [(edge.tick, edge.level) for edge in self.edges if edge.output == output]


def run(
    program: Program, ticks: int, seed: int = 1, world: Callable[[Machine, int], None] | None = None, step: int = 0
) -> Ran:
    """Trips `go` and runs for so many ticks; `world` may set inputs every `step` ticks.

    Small seeds give small first draws, so they are spread over the 32 bits.
    """
    machine = Machine(program, HOST.limits, seed * 2_654_435_769 % 2**32)
    for index in range(len(program.inputs)):
        machine.set_input(index, True)
    machine.advance(10)
    assert machine.arm() is None
    events = list(machine.advance(20))
    machine.set_input(0, False)
    while machine.tick < ticks:
        if world is not None:
            world(machine, machine.tick)
        events += machine.advance(machine.tick + step if step else ticks)
    start = next(event.tick for event in events if isinstance(event, Started) and event.routine == 0)
    edges = tuple(replace(event, tick=event.tick - start) for event in events
                  if isinstance(event, OutputEdge) and event.tick >= start)
    ended = next((event.tick - start for event in events if isinstance(event, Ended) and event.routine == 0), None)
    return Ran(edges, ended, tuple(events))
