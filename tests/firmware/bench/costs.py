"""What each thing costs on a board, in cycles of the shipped image: small programs that differ in that thing alone.

`measured_costs` gives the table that `sequencer.steps.cycles` reckons with. Nothing here knows what is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from sequencer.board.protocol import ARM, HEARTBEAT, LEVELS, READ_LOG, STATE, TRIP, FrameSpec
from sequencer.steps import Input, InputKind, Output, Program, Routine, Start, WhileRunning
from sequencer.steps.costs import Costs
from tests.firmware.bench.driver import HZ
from tests.firmware.bench.meter import (
    GO,
    LONG,
    MET,
    OTHER,
    TRIGGER,
    Act,
    Meter,
    link_cycles,
    pin,
    request_cycles,
    routine,
)
from tests.firmware.bench.step_costs import measured_closings, measured_steps

SLOTS = 8
"""Routines at once: more that start together would not fit a tick, which is what is measured here."""


def fixed(meter: Meter) -> dict[str, int]:
    """What is there in every tick, or in every tick in which a routine may start."""
    outputs, inputs = meter.rows(safe=255), len(meter.profile.inputs)
    slots = SLOTS
    rest = max(meter.ticks(meter.program(inputs=0), 8))
    held = max(meter.ticks(meter.program(inputs=inputs), 8, {}))
    lit = max(meter.ticks(meter.program(outputs=outputs, inputs=0), 8))
    rows = tuple(routine(("wait", LONG), by=OTHER) for _ in range(slots))
    one = meter.ticks(meter.program(inputs=2), 2)
    looked = meter.ticks(meter.program(*rows), 2)[0]
    more = tuple(Routine(row.steps, (Start(OTHER),) * 3) for row in rows)
    many = {0: [pin(n, False) for n in range(inputs)]}
    changes = meter.ticks(meter.program(inputs=inputs), 1, many)[0] - held
    running = tuple(routine(("wait", LONG)) for _ in range(slots))
    waits = meter.ticks(meter.program(*running), GO)[-1] - max(meter.ticks(meter.program(*running[:1]), GO)[-2:])
    return {
        "tick": rest + max(0, one[0] - one[1] - changes // inputs),
        "input": math.ceil((held - rest) / inputs),
        "change": math.ceil(changes / inputs),
        "output": math.ceil((lit - rest) / len(outputs)),
        "row": math.ceil((looked - one[0]) / slots),
        "row_start": math.ceil((meter.ticks(meter.program(*more), 2)[0] - looked) / 2 / slots),
        "slot": math.ceil(max(0, waits) / (slots - 1)),
    }


def starts(meter: Meter) -> dict[str, int]:
    """Starts, clocks, ends, kills: each with as many routines as run at once, all there from the beginning."""
    slots = SLOTS
    outputs = meter.rows()

    def together(count: int, **facts: object) -> int:
        rows = [routine(("wait", LONG), by=TRIGGER if n < count else OTHER, **facts) for n in range(slots)]
        return meter.ticks(meter.program(*rows), 1)[0]

    def ended(there: Sequence[Output], tick: int = GO) -> int:
        return meter.ticks(meter.program(routine(("wait", GO)), outputs=there), GO + 1)[tick]

    def again(policy: WhileRunning, there: Sequence[Output]) -> int:
        acts: dict[int, Sequence[Act]] = {0: [pin(0, False)], 2: [pin(0, True)], 6: [pin(0, False)]}
        made = routine(("wait", LONG), while_running=policy)
        return meter.ticks(meter.program(made, outputs=there), 7, acts)[6]

    start = (together(slots) - together(4)) / (slots - 4)
    clocks = (together(slots, every=(LONG, 2 * LONG)) - together(4, every=(LONG, 2 * LONG))) / (slots - 4)
    kill = again(WhileRunning.RESTART, ()) - meter.ticks(meter.program(routine(("wait", LONG))), 1)[0]
    bare, full = ended((), GO) - ended((), GO - 2), ended(outputs, GO) - ended(outputs, GO - 2)
    return {
        "start": math.ceil(start),
        "draw": math.ceil(max(0, clocks - start)),
        "end": bare - fixed(meter)["row"],
        "end_output": math.ceil(max(0, full - bare) / len(outputs)),
        "kill": max(0, kill),
    }


def idles(meter: Meter) -> dict[str, int]:
    """What idles add, each held off by the scare that takes its steps last."""
    slots = SLOTS

    def looked(count: int, running: int, idle: bool) -> int:
        """An input changes that starts nothing, while so many run."""
        scares = [routine(("wait", LONG), group=7) for _ in range(running - 1)]
        last = routine(("wait", LONG), group=9, rank=15)
        rows = [routine(("wait", LONG), by=None if idle else OTHER, idle=idle, group=9) for _ in range(count)]
        acts: dict[int, Sequence[Act]] = {0: [pin(0, False)], GO: [pin(0, True)]}
        return meter.ticks(meter.program(*scares, last, *rows), GO + 1, acts)[GO]

    def begun(count: int, idle: bool) -> int:
        """A scare starts beside so many rows, of which the last is an idle of another group that stays."""
        rows = [routine(("wait", LONG), by=OTHER, group=7) for _ in range(count)]
        other = routine(("wait", LONG), by=None if idle else OTHER, idle=idle, group=9)
        return meter.ticks(meter.program(routine(("wait", LONG), group=7), *rows, other), 1)[0]

    plain, one = looked(4, 1, False), looked(4, 1, True)
    full = looked(4, slots - 1, True) - looked(4, slots - 1, False)
    way = begun(8, True) - begun(8, False) - (begun(1, True) - begun(1, False))
    return {
        "idle": math.ceil(max(0, one - plain) / 4),
        "idle_slot": math.ceil(max(0, full - (one - plain)) / 4 / (slots - 2)),
        "idle_row": math.ceil(max(0, way) / 7),
    }


def effects(meter: Meter) -> dict[str, int]:
    """What outputs do by themselves, and the limits that hold them."""
    held = max(meter.at_go(MET, before=[("set", o, 1) for o in meter.ends], tick=GO + n) for n in (10, 11))

    def most(*lines: tuple[str | int, ...], ticks: range = range(GO + 1, GO + 60)) -> int:
        made = routine(("wait", GO), *lines, ("wait", LONG))
        helper = routine(("set", 1, 1), ("wait", LONG))
        found = meter.ticks(meter.program(made, helper, outputs=meter.rows()), ticks.stop)
        return max(found[ticks.start : ticks.stop]) - held

    fading, plain = meter.ends
    fade, faster = most(("fade", fading, 255, 255)), most(("fade", fading, 255, 51), ticks=range(GO + 1, GO + 40))
    return {
        "fade": max(0, fade),
        "level": math.ceil(max(0, faster - fade) / 4),
        "pulse": max(most(("pulse", o, 20)) for o in (fading, plain)),
        "clip": most(("play", 0)),
        "flash": max(most(("flash", o, 10, 300)) for o in (fading, plain)),
        "flicker": most(("flicker", fading, 10, 250, 400)),
        **limits(meter),
        **halts(meter),
    }


def limits(meter: Meter) -> dict[str, int]:
    """Outputs with a longest on-time, and with a group of which one is on at a time."""
    count = len(meter.profile.outputs)

    def ticks(facts: dict[str, int], *lines: tuple[str | int, ...], until: int = GO + 1) -> list[int]:
        made = routine(("wait", GO), *lines, ("wait", LONG))
        return meter.ticks(meter.program(made, outputs=meter.rows(**facts)), until)

    bound, free = {"longest_on": 500}, dict[str, int]()
    near, far = [("set", n, 1) for n in (0, 1)], [("set", n, 1) for n in (0, count - 1)]
    plain, beside, apart = ticks(free, *near)[GO], ticks(bound, *near)[GO], ticks(bound, *far)[GO]
    lit = [("set", n, 1) for n in range(4)]
    held, light = (max(ticks(facts, *lit, until=GO + 30)[-2:]) for facts in (bound, free))
    over = max(ticks(bound, *lit, until=GO + 504)[GO + 490 :]) - held
    excluded = ticks({"exclusion": 1}, *near)[GO]
    return {
        "turn_all": math.ceil(max(0, apart - beside) / (count - 2)),
        "bound": math.ceil(max(0, held - light) / 4),
        "turn_bound": math.ceil(max(0, beside - plain) / 2),
        "over": math.ceil(over / 4),
        "excludes": math.ceil(max(0, excluded - beside) / 2 / count),
    }


def halts(meter: Meter) -> dict[str, int]:
    """A stop, with what runs and is on; and arming."""
    slots, outputs = meter.profile.limits.routines_running, meter.rows()

    def stopped(running: int, there: Sequence[Output], lines: Iterable[tuple[str | int, ...]] = ()) -> int:
        rows = [routine(*(lines if n == 0 else ()), ("wait", LONG)) for n in range(running)]
        program = meter.program(*rows, outputs=there)
        stop = Input(OTHER, kind=InputKind.STOP)
        program = Program(program.board, 1, program.outputs, (program.inputs[0], stop), program.routines)
        ticks = meter.ticks(program, GO + 11, {0: [pin(0, False)], GO + 10: [pin(OTHER, False)]})
        return ticks[-1] - ticks[-3]

    lit = [line for n in range(len(outputs)) for line in (("set", n, 1), ("wait", 1))][: 2 * GO - 20]
    on = sum(op == "set" for op, *_ in lit)
    none, bare = stopped(1, ()), stopped(slots, ())
    rest = (stopped(1, outputs, lit) - none) / len(outputs)
    off = (stopped(1, outputs) - none) / len(outputs)
    halt_run = math.ceil(max(0, bare - none) / (slots - 1))
    return {
        "rest": math.ceil(off + (rest - off) * len(outputs) / on),
        "rest_quiet": math.ceil(off),
        "halt_run": halt_run,
        "halt": max(0, none - halt_run),
    }


def link(meter: Meter) -> dict[str, int]:
    """The bytes that come, the longest request that is done in a tick, and arming."""
    bare, outputs = meter.program(inputs=0), meter.rows()
    full = meter.program(routine(("wait", LONG)), outputs=outputs)
    asked: list[tuple[FrameSpec, dict[str, int]]] = [
        (STATE, {}), (LEVELS, {"first": 0}), (HEARTBEAT, {}), (READ_LOG, {"first": 0}),
        (TRIP, {"input": 0, "ticks": 5}),
    ]  # fmt: skip
    byte = link_cycles(meter.board, bare)
    requests = [request_cycles(full, meter.board, spec, **values) for spec, values in asked]
    rows = [routine(("wait", LONG), by=OTHER) for _ in range(8)]
    arm, more = (
        request_cycles(meter.program(*some), meter.board, ARM, armed=False) for some in ([], rows)
    )
    return {
        "byte_of_link": byte,
        "byte_every": round(10 * HZ / 117_647),
        "request": max(0, *requests),
        "arm": arm,
        "arm_row": math.ceil(max(0, more - arm) / 8),
    }


def measured_costs(board: str) -> Costs:
    """The whole table for a board; some hundred programs are run for it."""
    meter = Meter(board)
    return Costs(
        per_tick=HZ // 1000, **fixed(meter), **starts(meter), **idles(meter), **effects(meter), **link(meter),
        **measured_closings(meter), steps=measured_steps(meter),
    )  # fmt: skip
