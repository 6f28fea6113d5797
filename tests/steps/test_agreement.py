"""One leap against tick by tick, and the outputs against a second, plain account of the same rules."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.steps import (
    BadProgram,
    Limits,
    Machine,
    Mode,
    Output,
    OutputEdge,
    Routine,
    Step,
    decode,
    encode,
    layout,
    verify,
)
from sequencer.steps.effects import Fade, Flash, Flicker, Hold, Pulse, Ramp
from sequencer.steps.flow import flow_of
from sequencer.steps.outputs import Outputs, Write
from sequencer.steps.random32 import Random32
from sequencer.steps.random_program import random_program, random_story
from sequencer.steps.story import tell
from sequencer.steps.table import ROWS, skip_of


def limits_for(seed: int) -> Limits:
    return Limits(program_bytes=1500, routines_running=2 + seed % 7, outputs=40, inputs=14)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32))
def test_one_leap_gives_the_events_of_every_single_tick(seed: int) -> None:
    limits = limits_for(seed)
    program = random_program(random.Random(seed), limits)
    story = random_story(random.Random(seed + 1), program, 2500)
    leaps, ticks = Machine(program, limits, seed), Machine(program, limits, seed)
    assert tell(leaps, story, 3500) == tell(ticks, story, 3500, every_tick=True)
    assert leaps.random_state == ticks.random_state
    assert leaps.levels() == ticks.levels()
    assert leaps.next_due() == ticks.next_due()


@pytest.mark.parametrize("seed", range(12))
def test_levels_are_what_the_edges_tell(seed: int) -> None:
    """A reader of edges alone, who draws each fade as stated, has the machine's level in each tick."""
    limits = limits_for(seed)
    program = random_program(random.Random(seed), limits)
    machine = Machine(program, limits, seed)
    story = list(random_story(random.Random(seed), program, 1500))
    told = [Ramp(output.safe, output.safe, 0, 0) for output in program.outputs]
    for tick in range(1800):
        due = [deed for deed in story if deed.tick == tick]
        events = tell(machine, due, tick + 1)
        last: dict[int, list[OutputEdge]] = {}
        for event in events:
            if isinstance(event, OutputEdge):
                last.setdefault(event.output, []).append(event)
        for output, edges in last.items():
            assert len(edges) == 1 or (len(edges) == 2 and not edges[0].over and edges[1].over)
            for edge in edges:
                start = told[output].at(tick)
                told[output] = Ramp(start if edge.over else edge.level, edge.level, tick, tick + edge.over)
        assert machine.levels() == tuple(ramp.at(tick) for ramp in told)


def unfolded(routine: Routine) -> Routine:
    """The routine with a fade and a wait in the place of each fade_then; skips pass over both."""
    places = [0]
    for made in routine.steps:
        places.append(places[-1] + 1 + (made.op == "fade_then"))
    steps: list[Step] = []
    for i, made in enumerate(routine.steps):
        skip = skip_of(made)
        if made.op == "fade_then":
            steps += [Step("fade", made.args), Step("wait", made.args[2:])]
        elif skip is not None:
            steps.append(Step(made.op, (*made.args[:-1], places[i + 1 + skip] - places[i + 1])))
        else:
            steps.append(made)
    return replace(routine, steps=tuple(steps))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32))
def test_a_fade_then_is_a_fade_and_a_wait(seed: int) -> None:
    limits = replace(limits_for(seed), program_bytes=6000, steps_per_tick=64)
    program = random_program(random.Random(seed), limits)
    plain = replace(program, routines=tuple(map(unfolded, program.routines)))
    story = random_story(random.Random(seed + 1), program, 2500)
    folded_run, plain_run = Machine(program, limits, seed), Machine(plain, replace(limits, steps_per_tick=128), seed)
    assert tell(folded_run, story, 3500) == tell(plain_run, story, 3500)
    assert folded_run.random_state == plain_run.random_state
    for one, other in zip(program.routines, plain.routines, strict=True):
        assert flow_of(one.steps).takes == flow_of(other.steps).takes


def test_random_programs_use_every_step_and_limit_what_they_may() -> None:
    programs = [random_program(random.Random(seed), limits_for(seed)) for seed in range(150)]
    used = {made.op for program in programs for routine in program.routines for made in routine.steps}
    assert used == {row.name for row in ROWS}
    outputs = [output for program in programs for output in program.outputs]
    for limit in ("longest_on", "shortest_on", "shortest_off", "exclusion", "safe", "alarm", "fades"):
        assert 0.03 < sum(bool(getattr(output, limit)) for output in outputs) / len(outputs) < 0.97


def test_random_stories_bring_up_every_event_and_reason() -> None:
    seen: set[str] = set()
    for seed in range(60):
        limits = limits_for(seed)
        program = random_program(random.Random(seed), limits)
        for event in tell(
            Machine(program, limits, seed), random_story(random.Random(seed), program, 2500), 3000
        ):
            seen.add(type(event).__name__)
            for part in ("reason", "code", "cause"):
                if hasattr(event, part):
                    seen.add(getattr(event, part).name)
    assert seen >= {
        "OutputEdge", "Started", "Skipped", "Ended", "Killed", "ModeChanged", "Fault", "InputChanged",
        "ClipStarted", "ClipEnded", "ClipSilenced", "RUNNING", "PENDING", "RESTING", "BLOCKED", "WARMING_UP",
        "NO_SLOT", "TWICE", "LONGEST_ON", "EXCLUSION", "END_NOT_REACHED", "LINK_LOST", "TRIGGER", "EVERY",
        "STEP",
        "IDLE", "ONCE_MORE", "RESTART", "GIVES_WAY", "SLOT_NEEDED", "BY_HAND", "STOP_INPUT", "ALARM_INPUT",
    }  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 30), st.data())
def test_whatever_verifies_runs(seed: int, data: st.DataObject) -> None:
    """Damaged images that still decode and verify run without a crash, and stop when told to."""
    limits = limits_for(seed)
    image = bytearray(encode(random_program(random.Random(seed), limits)))
    for _ in range(data.draw(st.integers(1, 6))):
        image[data.draw(st.integers(layout.HEADER_SIZE, len(image) - 1))] = data.draw(st.integers(0, 255))
    image[layout.CRC_AT : layout.HEADER_SIZE] = layout.image_crc(bytes(image)).to_bytes(4, "little")
    try:
        program = decode(bytes(image))
    except BadProgram:
        return
    if verify(program, limits):
        return
    machine = Machine(program, limits, seed)
    tell(machine, random_story(random.Random(seed), program, 1500), 2000)
    machine.disarm()
    machine.advance(2001)
    if machine.mode is Mode.DISARMED:
        assert machine.levels() == tuple(output.safe for output in program.outputs)


@dataclass
class Plain:
    """One output as small firmware would keep it: counters moved in every tick, no events or leaps."""

    table: Output
    level: int = 0
    on_for: int = -1
    off_for: int = 1 << 30
    kind: str = "hold"
    wish: int = 0
    left: int = 0
    period: int = 0
    counter: int = 0
    bounds: tuple[int, int] = (0, 0)
    step: tuple[int, int, int] = (0, 0, 0)
    total: int = 0
    faults: list[str] = field(default_factory=list)

    def take(self, what: tuple[str, tuple[int, ...]] | None, draws: Random32) -> None:
        if what is not None:
            if what[0] == self.kind == "fade" and self.left and self.on_for >= 0:
                self.left -= 1
                self._go_on(draws)
                self.level = self.wish
            self.kind, args = what
            self._begin(args, draws)
        elif self.left:
            self.left -= 1
            self._go_on(draws)

    def _begin(self, args: tuple[int, ...], draws: Random32) -> None:
        self.left = args[-1] if self.kind != "hold" else 0
        if self.kind in ("hold", "pulse"):
            self.wish = args[0]
        elif self.kind == "flash":
            self.wish, self.period, self.counter = 255, args[0], args[0]
        elif self.kind == "flicker":
            self.bounds, self.counter = (args[0], args[1]), 50
            self.wish = args[0] + draws.below(args[1] - args[0] + 1)
        else:
            self.wish, self.total = self.level, args[-1]
            self.bounds = (self.level, args[0])
            self.counter = 0

    def _go_on(self, draws: Random32) -> None:
        if self.left == 0:
            self.wish = {"pulse": 0, "flash": 0, "flicker": self.bounds[0], "fade": self.bounds[1]}[self.kind]
            self.kind = "hold"
            return
        if self.kind == "fade":
            self.counter += abs(self.bounds[1] - self.bounds[0])
            while self.counter >= self.total:
                self.counter -= self.total
                self.wish += 1 if self.bounds[1] > self.bounds[0] else -1
        elif self.kind in ("flash", "flicker"):
            self.counter -= 1
            if self.counter == 0 and self.kind == "flash":
                self.wish, self.counter = 255 - self.wish, self.period
            elif self.counter == 0:
                self.wish, self.counter = (
                    self.bounds[0] + draws.below(self.bounds[1] - self.bounds[0] + 1),
                    50,
                )

    def wants_on(self) -> bool:
        return self.wish > 0 or (self.kind == "fade" and max(self.bounds) > 0)

    def forget(self, fault: str) -> None:
        self.kind, self.wish, self.left = "hold", 0, 0
        self.faults.append(fault)


def plain_tick(
    lines: list[Plain], wishes: dict[int, tuple[str, tuple[int, ...]]], draws: Random32
) -> list[int]:
    for index, line in enumerate(lines):
        line.take(wishes.get(index), draws)
        line.on_for += line.on_for >= 0
        line.off_for += line.on_for < 0
    for line in lines:
        if line.on_for < 0:
            continue
        if not line.wants_on() and line.on_for >= line.table.shortest_on:
            line.on_for, line.off_for = -1, 0
        elif line.wants_on() and 0 < line.table.longest_on <= line.on_for:
            line.forget("longest")
            line.on_for, line.off_for = -1, 0
    for line in lines:
        if line.on_for >= 0 or not line.wants_on() or line.off_for < line.table.shortest_off:
            continue
        group = line.table.exclusion
        if group and any(other.on_for >= 0 for other in lines if other.table.exclusion == group):
            line.forget("exclusion")
            continue
        line.on_for = 0
        if line.kind == "fade":
            line.wish, line.total, line.counter = 0, line.left, 0
            line.bounds = (0, line.bounds[1])
    for line in lines:
        if line.on_for < 0:
            line.level = 0
        elif line.wants_on():
            line.level = line.wish
    return [line.level for line in lines]


def write_of(kind: str, args: tuple[int, ...]) -> Write:
    makers = {
        "hold": lambda tick, was: Hold(args[0]),
        "pulse": lambda tick, was: Pulse(args[0], tick + args[1]),
        "flash": lambda tick, was: Flash(args[0], tick + args[1], tick),
        "flicker": lambda tick, was: Flicker(args[0], args[1], tick + args[2], tick),
        "fade": lambda tick, was: Fade(was, args[0], tick, tick + args[1]),
    }
    return Write(makers[kind])


def random_wish(draws: random.Random) -> tuple[str, tuple[int, ...]]:
    ticks = draws.choice((1, 2, 7, 50, 120, 333))
    lo, hi = sorted((draws.choice((0, 0, 40)), draws.choice((0, 90, 255))))
    return draws.choice((
        ("hold", (draws.choice((0, 1, 255)),)),
        ("pulse", (255, ticks)),
        ("flash", (draws.choice((1, 6, 40)), ticks)),
        ("flicker", (lo, hi, ticks)),
        ("fade", (draws.choice((0, 3, 200)), ticks)),
        ("fade", (draws.choice((0, 255)), ticks)),
    ))  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_outputs_agree_with_a_plain_account_of_the_rules(seed: int) -> None:
    draws = random.Random(seed)
    table = tuple(
        Output(pin, True, longest_on=draws.choice((0, 0, 60, 200)), shortest_on=draws.choice((0, 0, 10, 50)),
               shortest_off=draws.choice((0, 0, 10, 80)), exclusion=draws.choice((0, 1, 2)))
        for pin in range(4)
    )  # fmt: skip
    log: list[object] = []
    outputs = Outputs(table, Random32(seed), log)  # type: ignore[arg-type]
    lines, plain_draws = [Plain(output) for output in table], Random32(seed)
    for tick in range(1500):
        wishes = {draws.randrange(4): random_wish(draws)} if draws.random() < 0.06 else {}
        for index, (kind, args) in wishes.items():
            outputs.write(index, write_of(kind, args))
        outputs.run(tick)
        assert list(outputs.levels(tick)) == plain_tick(lines, wishes, plain_draws), tick
    faults = sum(type(event).__name__ == "Fault" for event in log)
    assert faults == sum(len(line.faults) for line in lines)
