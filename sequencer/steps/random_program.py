"""Random programs that verify, and random stories for them, to hold two sets of rules against each other.

Every step of the table comes up, nested blocks and skips, races between routines, every policy, and limits
tight enough to bite. The same `random.Random` state gives the same program.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from sequencer.steps.encode import encode
from sequencer.steps.flow import flow_of
from sequencer.steps.program import (
    ON,
    WHOLE_YARD,
    Clip,
    Edge,
    Input,
    InputKind,
    Limits,
    Output,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
)
from sequencer.steps.story import Call, Deed
from sequencer.steps.table import LOOPS, step

_SHORT = (1, 2, 3, 7, 10, 49, 50, 51, 100, 137)
"""Times, in ticks, that meet one another and the flicker's 50 often."""


def random_program(draws: random.Random, limits: Limits) -> Program:
    """A program that verifies against the limits, which must have room for an output and a routine."""
    outputs = _outputs(draws, draws.randint(1, min(limits.outputs, 8)))
    inputs = _inputs(draws, draws.randint(1, min(limits.inputs, 6)))
    clips = tuple(
        Clip(draws.randrange(len(outputs)), draws.choice(_SHORT)) for _ in range(draws.randint(1, 2))
    )
    count = draws.randint(1, min(limits.routines, 7))
    maker = _Maker(draws, limits, outputs, len(inputs), len(clips), count)
    routines = tuple(_routine(maker, inputs) for _ in range(count))
    program = Program(
        draws.randrange(256),
        draws.getrandbits(32),
        outputs,
        inputs,
        routines,
        clips,
        draws.choice((0, 0, 0, 400)),
    )
    return _made_to_fit(program, limits)


def random_story(draws: random.Random, program: Program, until: int) -> tuple[Deed, ...]:
    """What happens to the program's board before tick `until`: mostly inputs, at times a request."""
    deeds = [
        Deed(0, Call.SET_INPUT, (i, int(sensor.low_when_tripped))) for i, sensor in enumerate(program.inputs)
    ]
    deeds.append(Deed(0, Call.ARM))
    tick = 0
    while tick < until:
        deeds.append(_deed(draws, program, tick))
        if draws.random() < 0.1:
            deeds += [Deed(tick, Call.RESET_ALARM), Deed(tick, Call.ARM)]
        tick += draws.choice((0, 1, 1, 2, 5, 20, 49, 50, 100, 260))
    return tuple(deeds)


def _deed(draws: random.Random, program: Program, tick: int) -> Deed:
    index = draws.randrange(len(program.inputs))
    sensor = program.inputs[index]
    chance = draws.random()
    if chance < 0.15:
        return Deed(tick, Call.HEARTBEAT)
    if chance < 0.20:
        output = draws.randrange(len(program.outputs))
        return Deed(tick, Call.DRIVE, (output, draws.choice((0, 128, ON)), draws.choice((1, 20, 500))))
    if chance < 0.22:
        return Deed(tick, Call.DISARM)
    if chance < 0.40 and sensor.kind in (InputKind.TRIGGER, InputKind.END_OF_TRAVEL):
        return Deed(tick, Call.PRESS, (index, draws.choice(_SHORT)))
    tripped = draws.random() < (0.5 if sensor.kind in (InputKind.TRIGGER, InputKind.END_OF_TRAVEL) else 0.15)
    return Deed(tick, Call.SET_INPUT, (index, int(tripped != sensor.low_when_tripped)))


def _outputs(draws: random.Random, count: int) -> tuple[Output, ...]:
    pins = draws.sample(range(64), count)
    taken: set[int] = set()
    return tuple(_output(draws, pin, taken) for pin in pins)


def _output(draws: random.Random, pin: int, taken: set[int]) -> Output:
    """An output; `taken` are the exclusion groups that have an output which is on at rest."""
    fades = draws.random() < 0.6
    shortest_on = draws.choice((0, 0, 0, 2, 10, 60))
    longest_on = draws.choice((0, 0, 0, 500, 1000))
    group = draws.choice((0, 0, 0, 1, 2))
    at_rest = 0
    if not longest_on and group not in taken and draws.random() < 0.25:
        at_rest = draws.choice((1, 100, ON)) if fades else ON
        if group:
            taken.add(group)
    safe, alarm = draws.choice(((at_rest, 0), (0, at_rest), (at_rest, at_rest)))
    return Output(
        pin,
        fades,
        draws.random() < 0.3,
        safe,
        alarm,
        longest_on,
        shortest_on,
        draws.choice((0, 0, 0, 2, 10, 60)),
        group,
    )


def _inputs(draws: random.Random, count: int) -> tuple[Input, ...]:
    kinds = [InputKind.TRIGGER, *draws.choices(list(InputKind), (5, 2, 1, 1), k=count - 1)]
    return tuple(
        Input(pin, draws.random() < 0.7, kind, draws.choice((0, 0, 1, 5, 20)), draws.choice((0, 0, 0, 1000)))
        for pin, kind in zip(draws.sample(range(64), count), kinds, strict=True)
    )


def _routine(maker: _Maker, inputs: tuple[Input, ...]) -> Routine:
    draws = maker.draws
    steps = maker.steps()
    idle = draws.random() < 0.2
    sensors = [i for i, sensor in enumerate(inputs) if sensor.kind not in (InputKind.STOP, InputKind.ALARM)]
    starts = tuple(
        Start(index, draws.choice(list(Edge)))
        for index in draws.sample(sensors, min(len(sensors), draws.choice((0, 1, 1, 2))))
    )
    lo = draws.choice((1, 90, 300))
    every = (lo, lo + draws.choice((0, 60, 500))) if draws.random() < 0.3 else None
    return Routine(
        steps,
        () if idle else starts,
        None if idle else every,
        idle,
        draws.choice((0, 1, 1, 2, WHOLE_YARD)),
        draws.choice(list(WhileRunning)),
        draws.choice((0, 0, 1, 80, 400)),
        draws.choice((0, 0, 3, 15)),
        draws.choice((None, None, None, draws.choice(sensors))),
        not idle and draws.random() < 0.2,
    )


def _made_to_fit(program: Program, limits: Limits) -> Program:
    """Cuts routines to their end until the bytes fit, the last first."""
    routines = list(program.routines)
    for number in range(len(routines) - 1, -1, -1):
        if len(encode(replace(program, routines=tuple(routines)))) <= limits.program_bytes:
            break
        routines[number] = replace(routines[number], steps=(step("wait", 5), step("end")))
    return replace(program, routines=tuple(routines))


@dataclass(slots=True)
class _Maker:
    """Makes the steps of one routine after the other."""

    draws: random.Random
    limits: Limits
    outputs: tuple[Output, ...]
    inputs: int
    clips: int
    routines: int

    def steps(self) -> tuple[Step, ...]:
        """Steps that flow as they must, by trying again, with less each time."""
        for length in range(self.draws.randint(3, 9), 0, -1):
            steps = (*self._block(length, self.limits.frames), step("end"))
            flow = flow_of(steps)
            if not flow.flaws and flow.most_steps_in_a_tick <= self.limits.steps_per_tick:
                return steps
        return step("wait", 3), step("end")

    def _block(self, length: int, depth: int) -> list[Step]:
        steps: list[Step] = []
        for _ in range(length):
            steps += self._phrase(length, depth)
            if self.draws.random() < 0.5:
                steps.append(self._pause())
        return steps

    def _phrase(self, length: int, depth: int) -> list[Step]:
        chance = self.draws.random()
        if chance < 0.15 and depth:
            return self._loop(length, depth)
        if chance < 0.22 and depth:
            return [step("mark"), *self._block(max(length // 2, 1), depth - 1), self._until(), step("unmark")]
        if chance < 0.40:
            return self._branch(length, depth)
        if chance < 0.50:
            return [step(self.draws.choice(("start", "stop")), self.draws.randrange(self.routines))]
        return [self._write()]

    def _loop(self, length: int, depth: int) -> list[Step]:
        op = self.draws.choice(sorted(LOOPS))
        head = {
            "repeat": lambda: step("repeat", self.draws.randint(1, 5)),
            "repeat_for": lambda: step("repeat_for", self._some_ticks() * 2),
            "repeat_until": lambda: step("repeat_until", *self._condition(), self._some_ticks() * 2),
        }[op]()
        period = (
            step("until", self._some_ticks())
            if self.draws.random() < 0.6
            else step("wait", self._some_ticks())
        )
        return [head, *self._block(max(length // 2, 1), depth - 1), period, step("again")]

    def _branch(self, length: int, depth: int) -> list[Step]:
        body = self._block(max(length // 3, 1), depth)
        if self.draws.random() < 0.15:
            body.append(step("end"))
            return [self._skip(len(body)), *body]
        if self.draws.random() < 0.5:
            return [self._skip(len(body)), *body]
        other = self._block(max(length // 3, 1), depth)
        return [self._skip(len(body) + 1), *body, step("jump", len(other)), *other]

    def _skip(self, count: int) -> Step:
        op = self.draws.choice(("chance", "skip_unless", "skip_but_nth"))
        if op == "chance":
            of = self.draws.randint(1, 9)
            return step("chance", self.draws.randint(1, of), of, count)
        if op == "skip_unless":
            return step("skip_unless", *self._condition(), count)
        return step("skip_but_nth", self.draws.randint(1, 4), count)

    def _pause(self) -> Step:
        op = self.draws.choice(("wait", "wait", "wait", "until", "wait_random", "await_input", "await_end"))
        if op == "wait":
            return step("wait", self.draws.choice((20000,) if self.draws.random() < 0.02 else _SHORT))
        if op == "until":
            return self._until()
        if op == "wait_random":
            return step("wait_random", self.draws.choice((0, 1, 40)), self.draws.choice((0, 1, 60, 300)))
        return step(op, *self._condition(), self.draws.choice((0, *_SHORT)))

    def _until(self) -> Step:
        return step("until", self.draws.choice((0, *_SHORT, 300)))

    def _write(self) -> Step:
        output = self.draws.randrange(len(self.outputs))
        ops = ["set", "set", "pulse", "flash", "silence", "play"]
        if self.outputs[output].fades:
            ops += ["level", "fade", "fade", "fade_then", "flicker"]
        op = self.draws.choice(ops)
        lo, hi = sorted((self.draws.choice((0, 1, 90, 200)), self.draws.choice((0, 30, ON))))
        ticks = self.draws.choice((*_SHORT, 700))
        made = {
            "set": lambda: step("set", output, self.draws.randint(0, 1)),
            "pulse": lambda: step("pulse", output, ticks),
            "flash": lambda: step("flash", output, self._some_ticks(), ticks),
            "silence": lambda: step("silence", output),
            "play": lambda: step("play", self.draws.randrange(self.clips)),
            "level": lambda: step("level", output, hi),
            "fade": lambda: step("fade", output, self.draws.choice((lo, hi)), ticks),
            "fade_then": lambda: step("fade_then", output, self.draws.choice((lo, hi)), ticks),
            "flicker": lambda: step("flicker", output, lo, hi, ticks),
        }
        return made[op]()

    def _condition(self) -> tuple[int, int]:
        return self.draws.randrange(self.inputs), self.draws.randint(0, 1)

    def _some_ticks(self) -> int:
        return self.draws.choice(_SHORT)
