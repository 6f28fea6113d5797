"""Programs for the bench: all outputs at once, limits that bite, long waits; each with a stop and an alarm input."""

from __future__ import annotations

from sequencer.board.profiles import AVR328, Profile
from sequencer.steps import Input, InputKind, Output, Program, Routine, Start, Step, encode

TRIGGER, STOP, ALARM = 0, 1, 2
"""Inputs of every program here, by number and by pin. The trigger and the stop are tripped when low."""

LONG = 16_000


def inputs() -> tuple[Input, ...]:
    """A trigger, a stop, an alarm, without settle time."""
    return (
        Input(pin=TRIGGER, low_when_tripped=True),
        Input(pin=STOP, low_when_tripped=True, kind=InputKind.STOP),
        Input(pin=ALARM, low_when_tripped=False, kind=InputKind.ALARM),
    )


def outputs(profile: Profile = AVR328) -> tuple[Output, ...]:
    """Every output there is; each third is active low, each fourth on when safe, each fifth on at an alarm."""
    return tuple(
        Output(
            pin=pin.index,
            fades=pin.fades,
            active_low=pin.index % 3 == 1,
            safe=255 if pin.index % 4 == 3 else 0,
            alarm=255 if pin.index % 5 == 2 else 0,
        )
        for pin in profile.outputs
    )


def all_on(profile: Profile = AVR328) -> Program:
    """Eight routines, started by the trigger, turn every output to what it is not when safe, for 1,000 s."""
    rows = outputs(profile)
    count = min(8, len(rows))

    def steps(routine: int) -> tuple[Step, ...]:
        mine = range(routine, len(rows), count)
        return (*(Step("set", (n, int(rows[n].safe == 0))) for n in mine), Step("wait", (LONG,)), Step("end"))

    routines = tuple(Routine(steps=steps(n), starts=(Start(TRIGGER),), group=n) for n in range(count))
    return Program(profile.kind, 0xA110, rows, inputs(), routines)


def busy(profile: Profile = AVR328, steps_a_tick: int = 2) -> Program:
    """Eight routines: one sets fades and flashes going on all outputs but three, the others take that many
    steps in every tick (one of them a wait, the rest writes to the three) and one more as their loops come round.

    A line of a cue is two steps, a write and a wait: so this is all eight on a line of theirs in every ms.
    """
    rows = tuple(Output(pin=pin.index, fades=pin.fades) for pin in profile.outputs)
    lamps = len(rows) - 3
    effects = [
        Step("fade", (n, 255, 60_000)) if row.fades else Step("flash", (n, 10 + n % 3, 60_000))
        for n, row in enumerate(rows[:lamps])
    ]  # fmt: skip
    # A few a tick, as no more steps than that may fall into one.
    spread: list[Step] = []
    for n, effect in enumerate(effects):
        spread += [effect, Step("wait", (1,))] if n % 6 == 5 else [effect]
    lights = Routine(steps=(*spread, Step("wait", (LONG,)), Step("end")), starts=(Start(TRIGGER),), group=0)

    def loop(number: int) -> Routine:
        lines: list[Step] = []
        for line in range(4 + number if steps_a_tick < 4 else 1):
            lines += [Step("set", (lamps + (number + k) % 3, (line + k) % 2)) for k in range(steps_a_tick - 1)]
            lines.append(Step("wait", (1,)))
        return Routine((Step("repeat", (LONG,)), *lines, Step("again"), Step("end")), (Start(TRIGGER),), group=number)

    return Program(profile.kind, 0xB054, rows, inputs(), (lights, *(loop(n) for n in range(1, 8))))


def limited() -> Program:
    """Output 6 may be on for 500 ms; 7 and 8 exclude each other; 9 is for the hand."""
    rows = (
        Output(pin=6, longest_on=500),
        Output(pin=7, exclusion=1),
        Output(pin=8, exclusion=1),
        Output(pin=9),
    )
    steps = (
        Step("set", (0, 1)),
        Step("set", (1, 1)),
        Step("wait", (20,)),
        Step("set", (2, 1)),
        Step("wait", (5_000,)),
        Step("end"),
    )
    return Program(AVR328.kind, 0x11E7, rows, inputs(), (Routine(steps=steps, starts=(Start(TRIGGER),)),))


def with_heartbeat(ticks: int = 400) -> Program:
    """All outputs on at a trigger; the computer must be heard every `ticks` ms."""
    program = all_on()
    return Program(
        program.board, 0x8EA7, program.outputs, program.inputs, program.routines, program.clips, ticks
    )


def one_pulse(ticks: int, output: int = 6) -> Program:
    """At a trigger one output is on for that many ticks: a sound of that length."""
    steps = (Step("pulse", (0, ticks)), Step("wait", (ticks + 100,)), Step("end"))
    return Program(
        AVR328.kind, 0x0501, (Output(pin=output),), inputs(), (Routine(steps=steps, starts=(Start(TRIGGER),)),)
    )


def filled(profile: Profile) -> Program:
    """A program that takes all the room there is for one: waits, no two alike, in a routine that the trigger starts."""
    room = profile.limits.program_bytes

    def made(waits: int, last: int) -> Program:
        steps = [Step("wait", (1 + n * 74 % 4_094,)) for n in range(waits)]
        steps += [Step("set", (0, 1))] * last
        routine = Routine((*steps, Step("end")), (Start(TRIGGER),))
        return Program(profile.kind, 0xF111, outputs(profile), inputs(), (routine,))

    waits = 0
    while len(encode(made(waits + 8, 0))) <= room:
        waits += 8
    program = made(waits, 0)
    while len(encode(made(waits + 1, 0))) <= room:
        waits += 1
        program = made(waits, 0)
    return program
