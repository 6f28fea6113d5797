"""The steps of a routine in order, as a tree: times already in ticks, names not yet numbers.

Between `plan_show`, which knows why a step is due then, and the compiler, which knows what the board calls it.
A wait counts from when the node before it was due, exactly as the board counts.
"""

from __future__ import annotations

from sequencer.frozen import frozen
from sequencer.rig.drive import Drive
from sequencer.show.model import Action, Cue, IfSensor, NthRun, SensorEdge


@frozen
class Wait:
    ticks: int
    cue: Cue | None = None


@frozen
class Until:
    """Until that many ticks after the start of the innermost frame (routine, round of a loop, `Framed`)."""

    ticks: int
    cue: Cue | None = None


@frozen
class WaitRandom:
    lo: int
    span: int
    cue: Cue


@frozen
class Await:
    """Until the sensor is tripped (or clear), at most `bound` ticks; `fault`: to pass the bound is a fault."""

    sensor: str
    tripped: bool
    bound: int
    cue: Cue
    fault: bool = False


@frozen
class Do:
    """What one drive of an action does to outputs, in this order; no motion or valve is left in `commands`."""

    commands: tuple[Drive, ...]
    action: Action
    cue: Cue
    note: str = ""


@frozen
class Framed:
    """Nodes whose `Until` counts from here."""

    nodes: tuple[Node, ...]
    cue: Cue


@frozen
class Loop:
    """Exactly one of `times`, `for_ticks` and `until` is given; `bound` goes with `until`."""

    nodes: tuple[Node, ...]
    cue: Cue
    times: int | None = None
    for_ticks: int | None = None
    until: SensorEdge | None = None
    bound: int | None = None


@frozen
class Pick:
    """(weight, nodes) of each arm."""

    arms: tuple[tuple[int, tuple[Node, ...]], ...]
    cue: Cue


@frozen
class Choose:
    test: IfSensor | NthRun
    yes: tuple[Node, ...]
    no: tuple[Node, ...]
    cue: Cue


Node = Wait | Until | WaitRandom | Await | Do | Framed | Loop | Pick | Choose
