"""A story told to the AVR image and to the rules in Python, and the edges of both, tick by tick.

Levels at pins are set between two ticks; what goes over the link is sent so that its last byte comes right after the
end of the tick before. Only one request fits into some ticks, as the line is no faster: see `Paced`.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.board.protocol import ARM, DISARM, DRIVE, HEARTBEAT, RESET_ALARM, STATE, TRIP, FrameSpec
from sequencer.steps import Machine, Program, encode
from sequencer.steps.program import ON
from sequencer.steps.story import Call, Deed, do
from tests.firmware.bench.board import Packets, memory_with, state_values
from tests.firmware.bench.driver import CHIPS, HZ, Bench

LEAD = 40
"""Ticks before which nothing is asked of the board: it is greeted meanwhile and tells its seed."""
GAP = 8
"""Ticks from one request to the next at least: the longest takes 15 bytes, its answer 4, at 0.087 ms a byte."""
TICK = HZ // 1000
_SPECS: dict[Call, tuple[FrameSpec, tuple[str, ...]]] = {
    Call.ARM: (ARM, ()),
    Call.DISARM: (DISARM, ()),
    Call.RESET_ALARM: (RESET_ALARM, ()),
    Call.HEARTBEAT: (HEARTBEAT, ()),
    Call.DRIVE: (DRIVE, ("output", "level", "ticks")),
    Call.PRESS: (TRIP, ("input", "ticks")),
}

Edge = tuple[int, int, int]
"""Tick, output, level."""


@dataclass(frozen=True, slots=True)
class Played:
    """What the board did: its edges, the latest and earliest cycle of a tick at which one came, its worst tick."""

    edges: tuple[Edge, ...]
    earliest: int
    latest: int
    worst: int
    overruns: int
    missed: int
    refused: int
    free_stack: int


def edges_by_rules(program: Program, seed: int, deeds: Sequence[Deed], until: int, board: str) -> tuple[Edge, ...]:
    """The edges of every output by the rules in Python, from tick 0 to before `until`."""
    machine = Machine(program, CHIPS[board].profile.limits, seed)
    before = [output.safe for output in program.outputs]
    edges: list[Edge] = []
    left = list(deeds)[::-1]
    for tick in range(until):
        while left and left[-1].tick <= tick:
            do(machine, left.pop())
        machine.advance(tick + 1)
        for output, level in enumerate(machine.levels()):
            if level != before[output]:
                edges.append((tick, output, level))
                before[output] = level
    return tuple(edges)


def seed_of(board: str, program: Program) -> int:
    """The seed that the board on the bench will have with this program: its RAM holds the same at each start."""
    with _bench_with(board, program, ()) as bench:
        packets = _greet(bench)
        bench.until_tick(LEAD)
        return int(state_values(packets.answers(_sent(bench))[-1])["random"])


def edges_by_board(program: Program, deeds: Sequence[Deed], until: int, board: str) -> Played:
    """The edges at the pins of the AVR image, whose memory holds the program at power-up."""
    with _bench_with(board, program, deeds) as bench:
        packets = _greet(bench)
        for deed in deeds:
            _plan(bench, packets, program, deed)
        bench.until_tick(until + GAP)
        stats = bench.stats()
        answers = packets.answers(_sent(bench))
        edges, places = _edges(bench, program, stats["first"], until)
    return Played(
        edges, min(places, default=0), max(places, default=0), stats["worst"], stats["overruns"], stats["missed"],
        sum(answer.refused for answer in answers), stats["free_stack"],
    )  # fmt: skip


def _bench_with(board: str, program: Program, deeds: Sequence[Deed]) -> Bench:
    profile = CHIPS[board].profile
    bench = Bench(board, memory=memory_with(profile, encode(program)))
    for index, sensor in enumerate(program.inputs):
        bench.set_input(sensor.pin, bool(sensor.low_when_tripped))
        for deed in deeds:
            if deed.tick == 0 and deed.call is Call.SET_INPUT and deed.args[0] == index:
                bench.set_input(sensor.pin, bool(deed.args[1]))
    bench.power_on()
    return bench


def _greet(bench: Bench) -> Packets:
    packets = Packets()
    bench.do(f"at {GAP} send {packets.greeting().hex()}")
    bench.do(f"at {3 * GAP} send {packets.make(STATE).hex()}")
    return packets


def _plan(bench: Bench, packets: Packets, program: Program, deed: Deed) -> None:
    if deed.call is Call.SET_INPUT:
        if deed.tick:
            pin = bench.inputs[program.inputs[deed.args[0]].pin].name
            bench.do(f"at {deed.tick} pin {pin} {deed.args[1]}")
        return
    assert deed.tick > LEAD
    spec, names = _SPECS[deed.call]
    bench.do(f"at {deed.tick} send {packets.make(spec, **dict(zip(names, deed.args, strict=True))).hex()}")


def _sent(bench: Bench) -> bytes:
    return bytes.fromhex("".join(line.split()[2] for line in bench.told if line.startswith("b ")))


def _edges(bench: Bench, program: Program, first: int, until: int) -> tuple[tuple[Edge, ...], list[int]]:
    outputs = {bench.outputs[output.pin].name: n for n, output in enumerate(program.outputs)}
    before = [output.safe for output in program.outputs]
    edges: list[Edge] = []
    places: list[int] = []
    for edge in bench.edges:
        number = outputs.get(edge.pin)
        if number is None or edge.cycle < first:
            continue
        tick, place = divmod(edge.cycle - first, TICK)
        level = bench.outputs[program.outputs[number].pin].level_of(edge.value)
        assert level is not None, f"{edge.pin} is not driven any more at tick {tick}"
        level = ON - level if program.outputs[number].active_low else level
        if tick - 1 < until and level != before[number]:
            edges.append((tick - 1, number, level))
            places.append(place)
            before[number] = level
    return tuple(sorted(edges)), places


def first_difference(rules: Sequence[Edge], board: Sequence[Edge]) -> str | None:
    """The first edge that is not the same, in words, or None."""
    for n in range(max(len(rules), len(board))):
        ours = rules[n] if n < len(rules) else None
        theirs = board[n] if n < len(board) else None
        if ours != theirs:
            return f"edge {n}: by the rules {ours}, at the pins {theirs} (tick, output, level)"
    return None


def shifted(deeds: Sequence[Deed], draws: random.Random) -> tuple[Deed, ...]:
    """A story for a board that is greeted first: all after tick 0 later by LEAD, requests GAP ticks apart at least."""
    made: list[Deed] = []
    free = LEAD + 1
    for deed in deeds:
        if deed.call is Call.SET_INPUT:
            made.append(Deed(deed.tick + LEAD + 1 if deed.tick else 0, deed.call, deed.args))
            continue
        tick = max(deed.tick + LEAD + 1, free)
        free = tick + GAP
        made.append(Deed(tick, deed.call, deed.args))
    return tuple(sorted(made, key=lambda deed: (deed.tick, deed.call is not Call.SET_INPUT)))


