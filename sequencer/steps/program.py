"""The values of a board program: what the compiler builds, the codec carries and the rules run.

Plain frozen values and nothing else. Time is counted in ticks of 1 ms, as ints; levels run from 0 (off) to
255. What fits the bytes is `encode`'s to say, what may run on a board is `verify`'s, what happens is
`rules`'.
"""

from __future__ import annotations

from enum import IntEnum

from sequencer.frozen import frozen

TICKS_PER_SECOND = 1000
"""One tick is 1 ms on every board."""

LONGEST_ON_UNIT = 500
"""The unit, in ticks, in which an output's longest on-time is stored (one byte: up to 127.5 s)."""

SHORTEST_UNIT = 2
"""The unit, in ticks, in which an output's shortest on- and off-time are stored (one byte: up to 510 ms)."""

WARM_UP_UNIT = 1000
"""The unit, in ticks, in which an input's warm-up is stored (one byte: up to 255 s)."""

MOST_BEGINNING = 4
"""How many routines that start in a tick take their first steps in it; the others take theirs in the next one. More
than that would not fit a tick of the small board (`tests/bench/cycles.py`)."""

WHOLE_YARD = 255
"""The group of a routine that belongs to no single prop."""

ON = 255
"""The level that a plain output has when it is on."""


class InputKind(IntEnum):
    """What a board makes of an input, beyond being something that steps can wait for."""

    TRIGGER = 0
    END_OF_TRAVEL = 1
    STOP = 2
    ALARM = 3


class Edge(IntEnum):
    """The two ways in which an input can change."""

    CLEARS = 0
    TRIPS = 1


class WhileRunning(IntEnum):
    """What a start does to a routine that is still running."""

    IGNORE = 0
    RESTART = 1
    ONCE_MORE = 2


@frozen
class Output:
    """One output: its pin, its two states of rest, and the limits that hold whatever the steps say.

    `longest_on` (ticks, a multiple of 500, 0 for no limit), `shortest_on` and `shortest_off` (ticks,
    multiples of 2). `exclusion` 0 is no group; of the outputs of one group 1..15 at most one is on at a time.
    """

    pin: int
    fades: bool = False
    active_low: bool = False
    safe: int = 0
    alarm: int = 0
    longest_on: int = 0
    shortest_on: int = 0
    shortest_off: int = 0
    exclusion: int = 0


@frozen
class Input:
    """One input: its pin, which level means tripped, and when a change is believed.

    `settle` (ticks, up to 16383) is how long a change must hold; before `warm_up` (ticks since power-up, a
    multiple of 1000, up to 255 s) it starts nothing.
    """

    pin: int
    low_when_tripped: bool = True
    kind: InputKind = InputKind.TRIGGER
    settle: int = 0
    warm_up: int = 0


@frozen
class Start:
    """A change of an input that starts a routine."""

    input: int
    edge: Edge = Edge.TRIPS


@frozen
class Clip:
    """A sound: the output that plays it, and its length in ticks."""

    output: int
    length: int


@frozen
class Step:
    """One instruction: a name of the instruction table and its arguments in the order of the table's fields.

    A skip counts steps: 0 goes on to the next step, n passes over the n steps that follow.
    """

    op: str
    args: tuple[int, ...] = ()


@frozen
class Routine:
    """A run of steps, what starts it, and how it lives beside the others.

    `every` (lo, hi) in ticks starts it by itself; `rest` (ticks) is how long it does not start after its end;
    among the routines of one tick a higher `rank` writes later and so wins. `blocked_while` is an input: once
    the routine has started while it was tripped, it does not start again before the input has cleared.
    `at_arming` starts it in the first tick after arming.
    """

    steps: tuple[Step, ...]
    starts: tuple[Start, ...] = ()
    every: tuple[int, int] | None = None
    idle: bool = False
    group: int = WHOLE_YARD
    while_running: WhileRunning = WhileRunning.IGNORE
    rest: int = 0
    rank: int = 0
    blocked_while: int | None = None
    at_arming: bool = False


@frozen
class Program:
    """All that a board needs to run a show. `heartbeat` (ticks) 0 asks for none."""

    board: int
    show_id: int
    outputs: tuple[Output, ...] = ()
    inputs: tuple[Input, ...] = ()
    routines: tuple[Routine, ...] = ()
    clips: tuple[Clip, ...] = ()
    heartbeat: int = 0


@frozen
class Limits:
    """What one kind of board has room for.

    `frames` counts open loops and marks of one routine, beside the routine itself; `steps_per_tick` is how
    many steps one routine may take in one tick; `work_bytes` is the memory that a program plays from (`verify`
    says what takes how much of it); the others are counts, and bytes of an encoded program.
    """

    program_bytes: int = 480
    routines_running: int = 8
    frames: int = 4
    steps_per_tick: int = 16
    outputs: int = 12
    inputs: int = 6
    routines: int = 32
    work_bytes: int = 65_535
