"""Random programs with the stories that find faults: half of what happens is aimed at the very tick where something
starts, ends, changes or rests out, as triggers at random hardly ever meet one."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from sequencer.steps import Ended, Event, InputKind, Killed, Limits, Machine, Mode, Program, Started
from sequencer.steps.random_program import random_program, random_story
from sequencer.steps.story import Call, Deed, do

_NEAR = (0, 0, 0, -1, 1)


@dataclass(slots=True)
class _Aim:
    """The machine so far, and the ticks to come in which something is known to happen."""

    draws: random.Random
    program: Program
    machine: Machine
    deeds: list[Deed] = field(default_factory=list)
    ticks: list[int] = field(default_factory=list)

    def do(self, tick: int, call: Call, *args: int) -> None:
        """Does it at that tick, or at the next there is."""
        self.learn(self.machine.advance(max(tick, self.machine.tick)))
        deed = Deed(self.machine.tick, call, args)
        do(self.machine, deed)
        self.deeds.append(deed)

    def learn(self, events: tuple[Event, ...]) -> None:
        """Notes when what has ended will have rested out, and when starts come round."""
        for event in events:
            if isinstance(event, Ended | Killed):
                rest = self.program.routines[event.routine].rest
                self.ticks += [event.tick + max(rest, 1)]
            elif isinstance(event, Started):
                self.ticks += [event.tick, event.tick + 1]

    def target(self) -> int:
        """A tick not yet run in which something happens, or one beside it."""
        now = self.machine.tick
        due = self.machine.next_due()
        known = [tick for tick in self.ticks if tick >= now]
        self.ticks = known[-20:]
        choice = self.draws.choice([*self.ticks[-6:], *([due] * 3 if due is not None else [now])])
        return max(now, min(choice, now + 600) + self.draws.choice(_NEAR))


def aimed_story(draws: random.Random, program: Program, limits: Limits, seed: int, until: int) -> tuple[Deed, ...]:
    """What happens to the program's board before tick `until`; all inputs are clear and the board armed at first."""
    aim = _Aim(draws, program, Machine(program, limits, seed))
    for index, sensor in enumerate(program.inputs):
        aim.do(0, Call.SET_INPUT, index, int(sensor.low_when_tripped))
    aim.do(0, Call.ARM)
    while aim.machine.tick < until:
        _next(aim)
    return tuple(deed for deed in aim.deeds if deed.tick < until)


def _next(aim: _Aim) -> None:
    draws, program = aim.draws, aim.program
    now = aim.machine.tick
    tick = aim.target() if draws.random() < 0.6 else now + draws.choice((0, 1, 2, 5, 20, 50, 100, 260))
    index = draws.randrange(len(program.inputs))
    sensor = program.inputs[index]
    stops = sensor.kind in (InputKind.STOP, InputKind.ALARM)
    chance = draws.random()
    if chance < 0.12:
        aim.do(tick, Call.HEARTBEAT)
    elif chance < 0.16:
        output = draws.randrange(len(program.outputs))
        level = draws.choice((0, 255, 255 if not program.outputs[output].fades else 120))
        aim.do(tick, Call.DRIVE, output, level, draws.choice((1, 20, 500)))
    elif chance < 0.19:
        aim.do(tick, Call.DISARM)
    elif chance < 0.30:
        if aim.machine.mode is Mode.ALARMED and draws.random() < 0.8:
            _see_to_the_alarm(aim, tick)
            tick = max(tick, aim.machine.tick + draws.choice((0, 1, 2)))
        aim.do(tick, Call.RESET_ALARM)
        aim.do(tick, Call.ARM)
    elif chance < 0.62 and not stops:
        aim.do(tick, Call.PRESS, index, draws.choice((1, 2, 3, 10, 50, 137)))
    else:
        tripped = draws.random() < (0.15 if stops else 0.6)
        aim.do(tick - sensor.settle, Call.SET_INPUT, index, int(tripped != sensor.low_when_tripped))


def _see_to_the_alarm(aim: _Aim, tick: int) -> None:
    """Its loop closes, and somebody works a stop at the board; at times the one or the other comes too soon, or not."""
    for kind in (InputKind.ALARM, InputKind.STOP):
        for index, sensor in enumerate(aim.program.inputs):
            if sensor.kind is kind and aim.draws.random() < 0.9:
                high = sensor.low_when_tripped
                if kind is InputKind.STOP:
                    aim.do(tick, Call.SET_INPUT, index, int(not high))
                    tick = aim.machine.tick + sensor.settle + 1
                aim.do(tick, Call.SET_INPUT, index, int(high))
                tick = aim.machine.tick + sensor.settle + aim.draws.choice((0, 1, 2))


def pins_first(deeds: Sequence[Deed]) -> tuple[Deed, ...]:
    """The story with the pins of a tick set before anything is asked in it, as a board reads them first, and with one
    drive by hand a tick, as the link brings them."""
    driven: set[int] = set()
    kept = []
    for deed in sorted(deeds, key=lambda deed: (deed.tick, deed.call is not Call.SET_INPUT)):
        if deed.call is not Call.DRIVE or deed.tick not in driven:
            kept.append(deed)
        if deed.call is Call.DRIVE:
            driven.add(deed.tick)
    return tuple(kept)


@dataclass(frozen=True, slots=True)
class Case:
    """A program and its story, to be told to two sets of rules."""

    program: Program
    limits: Limits
    deeds: tuple[Deed, ...]
    until: int


RUNNING = (2, 3, 5, 8)
"""How many routines run at once in the stories: few, so that slots run out."""


def case(seed: int, limits_of: Callable[[int], Limits]) -> Case:
    """The case of that number; all but every eighth have an aimed story."""
    limits = limits_of(RUNNING[seed % len(RUNNING)])
    program = random_program(random.Random(seed), limits)
    draws = random.Random(seed + 1)
    aimed = seed // len(RUNNING) % 8
    deeds = aimed_story(draws, program, limits, seed, 2500) if aimed else random_story(draws, program, 2500)
    return Case(program, limits, pins_first(deeds), 3000)
