"""What a verb does to outputs and motions, before anyone has fixed the tick: the bottom of the cue language.

The schedule turns these into step tables. Levels are 0 to 1, times whole microseconds.
"""

from __future__ import annotations

from typing import Literal

from sequencer.frozen import frozen
from sequencer.phrases import PinName


@frozen
class SetLevel:
    """The output goes to `level` at once and stays there."""

    pin: PinName
    level: float


@frozen
class Fade:
    pin: PinName
    level: float
    over_us: int


@frozen
class Pulse:
    """On now, off by itself after `for_us`."""

    pin: PinName
    for_us: int


@frozen
class Flash:
    pin: PinName
    half_period_us: int
    for_us: int


@frozen
class Flicker:
    pin: PinName
    low: float
    high: float
    for_us: int


@frozen
class Play:
    """A clip of a speaker, by its name within the speaker."""

    speaker: str
    clip: str


@frozen
class Silence:
    speaker: str


@frozen
class Motion:
    """A cylinder is to go `out`, `home`, or to a fraction of its stroke; the schedule finds the valve.

    `lands`: the time of the cue is the arrival. `for_us`: the valve goes back by itself after that time.
    """

    cylinder: str
    toward: Literal["out", "home", "between"]
    lands: bool = False
    fraction: float | None = None
    for_us: int | None = None


@frozen
class ValveTo:
    """A valve is to stand in a way; `rig.valve` says which coils that takes."""

    valve: str
    way: Literal["open", "closed"]
    for_us: int | None = None


@frozen
class StartRoutine:
    routine: str


@frozen
class StopRoutine:
    routine: str


Drive = (
    SetLevel | Fade | Pulse | Flash | Flicker | Play | Silence | Motion | ValveTo | StartRoutine | StopRoutine
)
