"""What comes from outside over a run, as values: input levels, trips and requests, each at its tick.

A story told to two machines with the same program and seed gives the same events; told to the board's C it
must give the same edges.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from sequencer.steps.events import Event
from sequencer.steps.rules import Machine


class Call(Enum):
    """The calls of a machine that a story may hold; the arguments are the machine's."""

    SET_INPUT = "set_input"
    PRESS = "press"
    ARM = "arm"
    DISARM = "disarm"
    RESET_ALARM = "reset_alarm"
    HEARTBEAT = "heartbeat"
    DRIVE = "drive"


@dataclass(frozen=True, slots=True)
class Deed:
    """One call at a tick, before that tick runs."""

    tick: int
    call: Call
    args: tuple[int, ...] = ()


def tell(
    machine: Machine, deeds: Iterable[Deed], until: int, *, every_tick: bool = False
) -> tuple[Event, ...]:
    """Plays a story, in tick order, and runs to `until`; all events. Raises ValueError for a tick past."""
    events: list[Event] = []
    for deed in deeds:
        events += machine.advance(deed.tick, every_tick=every_tick)
        do(machine, deed)
    events += machine.advance(until, every_tick=every_tick)
    return tuple(events)


def do(machine: Machine, deed: Deed) -> str | None:
    """Makes the call; a refusal is given back as the machine says it."""
    if deed.call is Call.SET_INPUT:
        machine.set_input(deed.args[0], bool(deed.args[1]))
        return None
    refusal: str | None = getattr(machine, deed.call.value)(*deed.args)
    return refusal
