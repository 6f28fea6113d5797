"""A board's log -> how long each rod took from the switching of its valve to its end-of-travel sensor.

Edges of outputs are not in a log, but follow from it: from each arming on the rules are run again with the trips that
were logged. Drives by hand are logged themselves. What is timed is a whole stroke from rest; anything else is counted
and left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from sequencer.board.log import LogEntry, LogKind, StartCause
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import Spool, Way
from sequencer.steps.events import Mode, OutputEdge
from sequencer.steps.program import Program
from sequencer.steps.rules import Machine

RESTED_TICKS = 3000
"""Where nothing sees the end it leaves, a rod counts as at rest so long after the command before (assumed)."""
LONGEST_TICKS = 60_000
"""A trip later than that after a command is not its arrival."""

Toward = Literal["out", "home"]


@dataclass(frozen=True, slots=True)
class Travel:
    """One whole stroke from rest, command to sensor, in seconds; `tick` is that of the command."""

    cylinder: str
    toward: Toward
    seconds: float
    tick: int


@dataclass(frozen=True, slots=True)
class Travels:
    """What the log times. `left_out` counts arrivals that were no whole strokes from rest, by cylinder."""

    timed: tuple[Travel, ...]
    left_out: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class _Command:
    tick: int
    way: Way


def travels(entries: Sequence[LogEntry], setup: Setup) -> Travels:
    """Every stroke that the log times, run by run. `setup` is that of the show that the board ran."""
    found = [_travels_of_run(run, setup) for run in _runs(entries)]
    left_out: dict[str, int] = {}
    for one in found:
        for name, number in one.left_out.items():
            left_out[name] = left_out.get(name, 0) + number
    return Travels(tuple(travel for one in found for travel in one.timed), left_out)


def _runs(entries: Sequence[LogEntry]) -> list[list[LogEntry]]:
    """The log cut where the board started, since its ticks begin anew; what an earlier program did is left out."""
    runs: list[list[LogEntry]] = [[]]
    for entry in entries:
        if entry.kind == LogKind.POWERED_UP:
            runs = [[]] if entry.subject == StartCause.COMMIT else [*runs, []]
        runs[-1].append(entry)
    return runs


def _travels_of_run(entries: Sequence[LogEntry], setup: Setup) -> Travels:
    commands = _commands(entries, setup)
    timed: list[Travel] = []
    left_out: dict[str, int] = {}
    for rod in setup.rods:
        for index, out in rod.ends:
            toward: Toward = "out" if out else "home"
            other = next((at for at, end in rod.ends if end != out), None)
            told = commands.get(rod.valve, [])
            for number, command in enumerate(told):
                until = told[number + 1].tick if number + 1 < len(told) else command.tick + LONGEST_TICKS
                trip = _first_trip(entries, index, command.tick, min(until, command.tick + LONGEST_TICKS))
                if command.way != toward or trip is None:
                    continue
                before = told[number - 1] if number else None
                if _from_rest(entries, command.tick, other, before):
                    settle = setup.program.inputs[index].settle
                    timed.append(Travel(rod.name, toward, (trip - settle - command.tick) / 1000, command.tick))
                else:
                    left_out[rod.name] = left_out.get(rod.name, 0) + 1
    return Travels(tuple(sorted(timed, key=lambda one: one.tick)), left_out)


def _first_trip(entries: Iterable[LogEntry], index: int, after: int, until: int) -> int | None:
    """When the input trips first after a tick and before another."""
    return next((entry.tick for entry in entries
                 if _is_input(entry, index) and entry.value and after < entry.tick < until), None)


def _is_input(entry: LogEntry, index: int) -> bool:
    return entry.kind == LogKind.INPUT and entry.subject == index


def _from_rest(entries: Sequence[LogEntry], tick: int, other: int | None, before: _Command | None) -> bool:
    """Whether the rod stood at its other end: its sensor there says so, or there was time enough."""
    if other is not None:
        return _tripped_at(entries, other, tick)
    return before is None or tick - before.tick >= RESTED_TICKS


def _tripped_at(entries: Sequence[LogEntry], index: int, tick: int) -> bool:
    """The state of an input in a tick; before its first change it is what that change changes from."""
    changes = [entry for entry in entries if _is_input(entry, index)]
    state = bool(changes) and not changes[0].value
    for entry in changes:
        if entry.tick > tick:
            break
        state = bool(entry.value)
    return state


def _commands(entries: Sequence[LogEntry], setup: Setup) -> dict[str, list[_Command]]:
    """For each valve when it was sent which way, as far as the log tells."""
    found: dict[str, list[_Command]] = {plan.name: [] for plan in setup.spools}
    for tick, state in _armings(entries):
        _replay(entries, setup, tick, state, found)
    for entry in entries:
        if entry.kind == LogKind.DRIVEN and entry.value:
            for plan in setup.spools:
                spool = Spool(plan)
                if entry.subject in plan.outputs:
                    way = spool.coils_at(entry.tick, entry.subject == plan.coil, entry.subject == plan.back)
                    found[plan.name].append(_Command(entry.tick, way))
    return {name: sorted(told, key=lambda one: one.tick) for name, told in found.items()}


def _armings(entries: Sequence[LogEntry]) -> Iterator[tuple[int, int]]:
    """Tick and state of the generator of each arming that the log has whole."""
    for low, high in pairwise(entries):
        if low.kind == LogKind.RANDOM_LOW and high.kind == LogKind.RANDOM_HIGH:
            yield low.tick, high.value << 16 | low.value


def _replay(entries: Sequence[LogEntry], setup: Setup, armed: int, state: int,
            found: dict[str, list[_Command]]) -> None:
    """Runs the rules from an arming to the next change of mode, and notes where the valves are sent."""
    program = _settled(setup.program)
    machine = Machine(program, setup.limits, state)
    for index in range(len(program.inputs)):
        _read(machine, program, index, _tripped_at(entries, index, armed))
    machine.advance(armed)
    if machine.arm() is not None:
        return
    levels = [output.safe for output in program.outputs]
    spools = [Spool(plan) for plan in setup.spools]
    until = next((entry.tick for entry in entries if _ends(entry, armed)), entries[-1].tick + 1)
    for entry in entries:
        if entry.kind == LogKind.INPUT and armed < entry.tick < until:
            _note(machine.advance(entry.tick), spools, levels, found)
            _read(machine, program, entry.subject, bool(entry.value))
    _note(machine.advance(until), spools, levels, found)


def _settled(program: Program) -> Program:
    """The program without settle times and heartbeat: what was logged has settled, and the link had not failed."""
    return replace(program, heartbeat=0, inputs=tuple(replace(one, settle=0) for one in program.inputs))


def _read(machine: Machine, program: Program, index: int, tripped: bool) -> None:
    if index < len(program.inputs):
        machine.set_input(index, tripped != program.inputs[index].low_when_tripped)


def _ends(entry: LogEntry, armed: int) -> bool:
    return entry.kind == LogKind.MODE and entry.subject != Mode.ARMED and entry.tick > armed


def _note(events: Iterable[object], spools: Sequence[Spool], levels: list[int],
          found: dict[str, list[_Command]]) -> None:
    """Coil edges of one tick act together, once all of them are known."""
    by_tick: dict[int, list[OutputEdge]] = {}
    for event in events:
        if isinstance(event, OutputEdge):
            by_tick.setdefault(event.tick, []).append(event)
    for tick, edges in by_tick.items():
        for edge in edges:
            levels[edge.output] = edge.level
        switched = {edge.output for edge in edges}
        for spool in spools:
            if switched & set(spool.plan.outputs):
                back = spool.plan.back
                before = spool.way
                way = spool.coils_at(tick, levels[spool.plan.coil] > 0, back is not None and levels[back] > 0)
                if way != before:
                    found[spool.plan.name].append(_Command(tick, way))
