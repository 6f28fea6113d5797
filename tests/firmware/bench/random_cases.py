"""Programs and stories for the AVR image: the random ones of all firmware tests, within what its line can carry."""

from __future__ import annotations

import functools
import random
from dataclasses import dataclass

from sequencer.cli.compile import image_of
from sequencer.cli.shows import read_show
from sequencer.data import folder
from sequencer.steps import Program, decode
from sequencer.steps.random_program import random_program
from sequencer.steps.rules import Machine
from sequencer.steps.story import Call, Deed
from tests.firmware.bench.board import on_pins_of
from tests.firmware.bench.driver import CHIPS
from tests.firmware.bench.play import GAP, LEAD, seed_of
from tests.firmware.stories import _Aim, _next

UNTIL = 3000


@dataclass(frozen=True, slots=True)
class AvrCase:
    """A program, the seed the board will have with it, and what happens to the board."""

    program: Program
    seed: int
    deeds: tuple[Deed, ...]
    until: int


class _Paced(_Aim):
    """Aims at what happens, but asks nothing over the link before the last answer is through."""

    free = LEAD + 1

    def do(self, tick: int, call: Call, *args: int) -> None:
        if call is not Call.SET_INPUT:
            tick = max(tick, self.free, self.machine.tick)
            self.free = tick + GAP
        elif tick:
            tick = max(tick, LEAD + 1)
        super().do(tick, call, *args)


@functools.cache
def avr_case(number: int, board: str) -> AvrCase:
    """The case of that number for that board: its program fits the board's pins, its story the board's line."""
    profile = CHIPS[board].profile
    draws = random.Random(f"{board} {number}")
    program = None
    while program is None:
        program = on_pins_of(random_program(draws, profile.limits), profile)
    seed = seed_of(board, program)
    aim = _Paced(draws, program, Machine(program, profile.limits, seed))
    for index, sensor in enumerate(program.inputs):
        aim.do(0, Call.SET_INPUT, index, int(sensor.low_when_tripped))
    aim.do(LEAD + 1, Call.ARM)
    while aim.machine.tick < UNTIL - 200:
        _next(aim)
    told = [deed for deed in aim.deeds if deed.tick < UNTIL]
    deeds = sorted(told, key=lambda deed: (deed.tick, deed.call is not Call.SET_INPUT))
    return AvrCase(program, seed, tuple(deeds), UNTIL)


@functools.cache
def demo_case() -> AvrCase:
    """The demo show with its sensors tripped one after the other, again and again, for a minute."""
    compiled = read_show(folder("shows") / "marrow_lane" / "marrow_lane.show").checked.compiled
    assert compiled is not None
    program = decode(image_of(compiled))
    seed = seed_of("avr2560", program)
    draws = random.Random(7)
    deeds = [Deed(0, Call.SET_INPUT, (n, int(s.low_when_tripped))) for n, s in enumerate(program.inputs)]
    deeds.append(Deed(LEAD + 1, Call.ARM))
    starts = sorted({start.input for routine in program.routines for start in routine.starts})
    for tick in range(500, 58_000, 1_700):
        index = draws.choice(starts)
        low = int(program.inputs[index].low_when_tripped)
        deeds += [Deed(tick, Call.SET_INPUT, (index, 1 - low)), Deed(tick + 400, Call.SET_INPUT, (index, low))]
    return AvrCase(program, seed, tuple(deeds), 60_000)
