"""What a dry run meets on the way that a builder wants to know, in words with the numbers that decide.

These are things seen in one run. What can happen in any run is for the checks.
"""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.dryrun.motion import Movement, RodPlan
from sequencer.dryrun.spool import Spool
from sequencer.dryrun.timeline import Met, MetKind, Yard
from sequencer.dryrun.triggers import Trigger
from sequencer.steps.events import Event, Fault, FaultCode, Skipped, SkipReason

_FAULTS = {
    FaultCode.LONGEST_ON: MetKind.LONGEST_ON,
    FaultCode.EXCLUSION: MetKind.EXCLUSION,
    FaultCode.END_NOT_REACHED: MetKind.END_LATE,
    FaultCode.LINK_LOST: MetKind.LINK_LOST,
}


def met_in_event(event: Event, yard: Yard) -> Iterator[Met]:
    """Skipped starts and the board's own faults."""
    if isinstance(event, Skipped):
        name = yard.routines[event.routine].name
        serious = event.reason is SkipReason.NO_SLOT
        yield Met(
            event.tick,
            MetKind.SKIPPED,
            name,
            f"{name} was asked to start and did not: {event.reason.value}.",
            serious,
        )
    elif isinstance(event, Fault):
        who = _subject(event, yard)
        yield Met(event.tick, _FAULTS[event.code], who, event.code.sentence.format(who) + ".")


def met_in_trip(trigger: Trigger, settle: int) -> Iterator[Met]:
    """A trip that the input does not believe, or that is there before it can be seen to come."""
    if trigger.begins == 0:
        yield Met(
            0,
            MetKind.HELD_AT_ARMING,
            trigger.sensor,
            f"{trigger.sensor} is tripped already when the board is armed, and what is tripped then "
            "starts nothing; "
            "trip it later than 0 s.",
        )
    held = trigger.ends - trigger.begins
    if held < settle:
        yield Met(
            trigger.begins,
            MetKind.TOO_SHORT,
            trigger.sensor,
            f"{trigger.sensor} is tripped for {held} ms and settles in {settle} ms, so this trip counts for "
            f"nothing; hold it longer.",
        )


def met_in_command(
    tick: int, rod: RodPlan, spool: Spool, coils: tuple[bool, bool], there: bool | None
) -> Iterator[Met]:
    """What a command to a valve does to one rod. `there`: it stands where it is sent; None: no coil
    went on."""
    name, valve = rod.name, spool.plan.name
    if all(coils):
        yield Met(
            tick,
            MetKind.BOTH_COILS,
            valve,
            f"both coils of {valve} are on at once: they pull against each other, and what the valve does "
            f"is not known.",
        )
    if there:
        yield Met(
            tick,
            MetKind.ALREADY_THERE,
            name,
            f"{name} is sent {spool.way} and stands {spool.way} already.",
            serious=False,
        )
    if spool.way == "vented" and not rod.weight_brings_home:
        yield Met(
            tick,
            MetKind.VENTED,
            name,
            f"{valve} vents both ends of {name}: weight and hands move it, so where it comes to rest is not "
            f"known; the dry run reckons with its weight and friction alone.",
        )


def met_in_cut(tick: int, cut: Movement) -> Met:
    """A motion that was cut short by the command at this tick."""
    return Met(
        tick,
        MetKind.CUT_SHORT,
        cut.cylinder,
        f"{cut.cylinder} was on its way {cut.toward} and is sent elsewhere: it gets to {100 * cut.reached:.0f} % "
        f"of its stroke (from home), at {cut.ends / 1000:g} s.",
    )


def _subject(fault: Fault, yard: Yard) -> str:
    match fault.code:
        case FaultCode.LONGEST_ON | FaultCode.EXCLUSION:
            return yard.outputs[fault.subject].name
        case FaultCode.END_NOT_REACHED:
            return yard.inputs[fault.subject].sensor
    return "the board"
