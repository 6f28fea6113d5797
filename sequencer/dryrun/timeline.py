"""What came of a dry run, as plain values: edges to the tick, motions, events, and what is worth a word.

Nothing here computes. `as_json` writes it for programs, `pages/terminal` draws it for people.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from sequencer.dryrun.motion import Movement, Point
from sequencer.dryrun.spool import Way
from sequencer.dryrun.triggers import Trigger
from sequencer.steps.events import Event, OutputEdge
from sequencer.steps.interpreter import Taken
from sequencer.steps.program import InputKind


class Device(Enum):
    """What an output drives, as far as a lane is drawn differently for it."""

    LAMP = "lamp"
    SWITCHED = "switched"
    COIL = "coil"
    SPEAKER = "speaker"


@dataclass(frozen=True, slots=True)
class OutputInfo:
    """One output of the program. `role` tells the two coils of a valve apart: `on` sends out, `back on`
    home."""

    index: int
    name: str
    device: str
    kind: Device
    role: str
    pin: str
    safe: int


@dataclass(frozen=True, slots=True)
class InputInfo:
    """One input. `turned`: it counts as tripped while its sensor is clear, as for `alarm on loop clears`."""

    index: int
    sensor: str
    kind: InputKind
    sees: str | None = None
    end: str | None = None
    turned: bool = False


@dataclass(frozen=True, slots=True)
class RoutineInfo:
    index: int
    name: str
    idle: bool


@dataclass(frozen=True, slots=True)
class ClipInfo:
    """A clip; `ticks` is its length as the program has it."""

    index: int
    speaker: str
    name: str
    output: int
    ticks: int


class MetKind(Enum):
    """What a dry run can meet; the values are the words of the JSON form and stay as they are."""

    SKIPPED = "skipped"
    CUT_SHORT = "motion_cut_short"
    ALREADY_THERE = "already_there"
    LONGEST_ON = "longest_on"
    EXCLUSION = "exclusion"
    END_LATE = "end_sensor_late"
    LINK_LOST = "link_lost"
    BOTH_COILS = "both_coils_on"
    VENTED = "vented"
    TOO_SHORT = "trip_too_short"
    HELD_AT_ARMING = "held_at_arming"


@dataclass(frozen=True, slots=True)
class Met:
    """Something met on the way that a builder wants to know. `serious`: worth a warning, not only a note."""

    tick: int
    kind: MetKind
    who: str
    sentence: str
    serious: bool = True


@dataclass(frozen=True, slots=True)
class Track:
    """Where one rod went: the corners of a line of (us since tick 0, share of the stroke)."""

    cylinder: str
    valve: str
    points: tuple[Point, ...]
    movements: tuple[Movement, ...]


@dataclass(frozen=True, slots=True)
class Series:
    """One quantity of one part over the run: the corners of a line of (us since tick 0, SI value; pressures gauge).

    `what` is its name within the part (`pressure`, `current`), `unit` the symbol of the author's unit, `limits` are
    (name, SI value) of what it is to be read against.
    """

    of: str
    what: str
    unit: str
    points: tuple[Point, ...]
    limits: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Yard:
    """Everything that has a lane, by the numbers that events use."""

    title: str
    outputs: tuple[OutputInfo, ...]
    inputs: tuple[InputInfo, ...]
    routines: tuple[RoutineInfo, ...]
    clips: tuple[ClipInfo, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """Free air that a cylinder or a blowing valve drew, in litres at 20 C and 100 kPa."""

    who: str
    std_l: float


@dataclass(frozen=True, slots=True)
class Sent:
    """A valve is told to go a way at this tick; at tick 0 it is where it stands."""

    tick: int
    valve: str
    way: Way


@dataclass(frozen=True, slots=True)
class Timeline:
    """A dry run of ticks 0 up to, not including, `ticks`.

    `air_std_l` (litres at 20 C and 100 kPa) is what was drawn, None where that is not known; `drawn` by whom.
    `random_state` is the generator's at the end.
    `tripped_at_start` are the inputs that count as tripped from tick 0 on: sensors that see a resting rod.
    `trail` are the steps taken, where they were asked for.
    """

    yard: Yard
    ticks: int
    seed: int
    random_state: int
    cold: bool
    triggers: tuple[Trigger, ...]
    edges: tuple[OutputEdge, ...]
    events: tuple[Event, ...]
    tracks: tuple[Track, ...]
    met: tuple[Met, ...]
    air_std_l: float | None
    air_basis: str
    tripped_at_start: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()
    sent: tuple[Sent, ...] = ()
    trail: tuple[Taken, ...] = ()
    series: tuple[Series, ...] = ()
    drawn: tuple[Drawn, ...] = ()
