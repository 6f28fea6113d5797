"""The firmware's rules as a shared library, and the same stories told to them and to the Python rules."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.log import LogEntry, LogKind, entry_of, unpack_entry
from sequencer.steps import Event, Limits, Machine, OutputEdge, Program
from sequencer.steps.effects import Ramp
from sequencer.steps.story import Call, Deed, do

ROOT = Path(__file__).parents[3]
CORE = ROOT / "firmware_stub" / "core"
RULES = ("tick", "image", "random32", "log", "inputs", "outputs", "effects", "slots", "standing", "routines",
         "triggers", "steps", "machine")  # fmt: skip
"""The files of the core that hold the rules; the link and the store stand on them."""
_CALLS = tuple(Call)
_LIMITS = {"program_bytes": 1500, "outputs": 40, "inputs": 14, "routines": 32, "frames": 4, "steps_per_tick": 16}

EdgeTold = tuple[int, int, int]
"""Tick, output, level from then on."""


@dataclass(frozen=True, slots=True)
class Run:
    """What a story came to: every change of a level, every entry of the log, the state of the draws at the end."""

    edges: tuple[EdgeTold, ...]
    entries: tuple[LogEntry, ...]
    random_state: int


class _Deed(ctypes.Structure):
    _fields_ = (
        ("tick", ctypes.c_uint32),
        ("call", ctypes.c_uint8),
        ("index", ctypes.c_uint8),
        ("level", ctypes.c_uint8),
        ("ticks", ctypes.c_uint16),
    )


class _Edge(ctypes.Structure):
    _fields_ = (("tick", ctypes.c_uint32), ("output", ctypes.c_uint8), ("level", ctypes.c_uint8))


class _Told(ctypes.Structure):
    _fields_ = (
        ("edges", ctypes.POINTER(_Edge)),
        ("edges_room", ctypes.c_uint32),
        ("edges_count", ctypes.c_uint32),
        ("entries", ctypes.POINTER(ctypes.c_uint8)),
        ("entries_room", ctypes.c_uint32),
        ("entries_count", ctypes.c_uint32),
        ("random_state", ctypes.c_uint32),
    )


def limits_of(running: int) -> Limits:
    """The limits that the library for so many running routines is built with."""
    return Limits(**_LIMITS, routines_running=running)


def build(target: Path, running: int, core: Path = CORE, flags: Sequence[str] = ("-O2",)) -> Path:
    """Compiles the rules found in the folder `core` into a library that runs so many routines at once."""
    compiler = shutil.which("gcc")
    assert compiler, "the tests of the firmware need gcc"
    limits = {**_LIMITS, "routines_running": running, "work_bytes": 4000}
    defines = [f"-DBOARD_{name.upper()}={value}U" for name, value in limits.items()]
    sources = [str(core / f"{name}.c") for name in RULES]
    subprocess.run(
        [compiler, "-std=c11", "-shared", "-fPIC", *flags, "-Wall", "-Wextra", "-DBOARD_KIND=3", *defines,
         f"-I{core}", str(Path(__file__).with_name("bench_board.c")), *sources, "-o", str(target)],
        check=True,
    )  # fmt: skip
    return target


class Board:
    """A library loaded: one board, started anew for each story."""

    def __init__(self, library: Path, room: int = 400_000) -> None:
        self._library = ctypes.CDLL(str(library))
        self._library.bench_load.argtypes = [ctypes.c_char_p, ctypes.c_uint32]
        self._edges = (_Edge * room)()
        self._entries = (ctypes.c_uint8 * (8 * room))()
        self._told = _Told(self._edges, room, 0, self._entries, room, 0, 0)

    def play(self, image: bytes, seed: int, deeds: Sequence[Deed], until: int) -> Run:
        """Tells the story to a board that comes up on the image."""
        told = self._told
        told.edges_count = told.entries_count = 0
        rows = (_Deed * len(deeds))(*map(_row, deeds))
        self._library.bench_load(image, seed)
        self._library.bench_play(rows, len(deeds), until, ctypes.byref(told))
        edges = tuple((edge.tick, edge.output, edge.level) for edge in self._edges[: told.edges_count])
        packed = bytes(self._entries[: 8 * told.entries_count])
        entries = tuple(unpack_entry(packed[at : at + 8]) for at in range(0, len(packed), 8))
        return Run(edges, entries, told.random_state)


def _row(deed: Deed) -> _Deed:
    args = (*deed.args, 0, 0)
    level, ticks = (args[1], args[2]) if deed.call is Call.DRIVE else (args[1] & 0xFF, args[1])
    return _Deed(deed.tick, _CALLS.index(deed.call), args[0], level, ticks)


def tell_python(program: Program, limits: Limits, seed: int, deeds: Sequence[Deed], until: int) -> Run:
    """The same story told to the Python rules."""
    machine = Machine(program, limits, seed)
    events: list[Event] = []
    entries: list[LogEntry] = []

    def advance(tick: int) -> None:
        new = machine.advance(tick)
        events.extend(new)
        entries.extend(entry for event in new if (entry := entry_of(event)) is not None)

    for deed in deeds:
        advance(deed.tick)
        state, tripped = machine.random_state, machine.inputs_tripped()
        if do(machine, deed) is None and deed.call in (Call.ARM, Call.DRIVE):
            entries.extend(_entries_of(deed, state, tripped))
    advance(until)
    edges = levels_of(program, [event for event in events if isinstance(event, OutputEdge)], until)
    return Run(edges, tuple(entries), machine.random_state)


def _entries_of(deed: Deed, state: int, tripped: tuple[bool, ...]) -> tuple[LogEntry, ...]:
    if deed.call is Call.DRIVE:
        return (LogEntry(deed.tick, LogKind.DRIVEN, deed.args[0], deed.args[1]),)
    return (
        LogEntry(deed.tick, LogKind.RANDOM_LOW, 0, state & 0xFFFF),
        LogEntry(deed.tick, LogKind.RANDOM_HIGH, 0, state >> 16),
        LogEntry(deed.tick, LogKind.TRIPPED, 0, sum(1 << n for n, on in enumerate(tripped) if on)),
    )


def levels_of(program: Program, edges: Sequence[OutputEdge], until: int) -> tuple[EdgeTold, ...]:
    """Every change of a level before `until`, fades drawn out, in the order of tick and output."""
    changes: list[EdgeTold] = []
    for output, row in enumerate(program.outputs):
        own = [edge for edge in edges if edge.output == output]
        way, level = Ramp(row.safe, row.safe, 0, 0), row.safe
        ends = [edge.tick for edge in own[1:]] + [until]
        for edge, end in zip(own, ends, strict=False):
            start = way.at(edge.tick) if edge.over else edge.level
            way = Ramp(start, edge.level, edge.tick, edge.tick + edge.over)
            for tick in _ticks_of_change(way, end):
                if way.at(tick) != level:
                    level = way.at(tick)
                    changes.append((tick, output, level))
    return tuple(sorted(changes))


def _ticks_of_change(way: Ramp, until: int) -> list[int]:
    """The ticks before `until` in which the level of the way may be another than in the tick before."""
    if way.begin >= until:
        return []
    levels, total = abs(way.to - way.start), way.end - way.begin
    ticks = {way.begin, *(way.begin - (-total * level // levels) for level in range(1, levels + 1))}
    return sorted(tick for tick in ticks if tick < until)
