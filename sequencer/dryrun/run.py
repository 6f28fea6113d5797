"""A compiled show and its triggers -> the timeline of a dry run.

The board is powered up and armed at tick 0 with every sensor at rest. What happens then is the session's;
here is how long it goes on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sequencer.dryrun.session import Session, Setup
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.schedule.compile import Compiled
from sequencer.show.model import Show
from sequencer.steps.program import TICKS_PER_SECOND, Program

CAP = 600 * TICKS_PER_SECOND
"""Ten minutes: where a run that was given no length ends if what it started has not."""

UNASKED = 60 * TICKS_PER_SECOND
"""A minute: the length of a run without triggers of a show that starts things by itself."""

_AFTER = 1 * TICKS_PER_SECOND
_LOOK_EVERY = 100


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a dry run. Ticks; `for_ticks` None: as long as what the triggers start. `cold`:
    sensors still have to warm up. `trail`: the steps taken are kept; `curves`: so are pressures and the current."""

    triggers: Sequence[Trigger] = ()
    seed: int = 1
    for_ticks: int | None = None
    cold: bool = False
    trail: bool = False
    curves: bool = False


def dry_run(
    compiled: Compiled, show: Show, triggers: Sequence[Trigger], seed: int, for_ticks: int | None
) -> Timeline:
    """The run of a show with warm sensors; see `run`."""
    return run(set_up(compiled, show), Asked(triggers, seed, for_ticks))


def run(setup: Setup, asked: Asked) -> Timeline:
    """The whole run. Without a length it goes on until all that was started has ended, ten minutes at
    most."""
    session = Session(setup, asked.seed, asked.cold, asked.trail, asked.curves)
    for trigger in asked.triggers:
        session.add_trigger(trigger)
    if asked.for_ticks is not None:
        session.advance(asked.for_ticks)
        return session.timeline(_notes(session))
    length = _run_out(session, asked.triggers)
    return session.timeline((*_notes(session), length))


def _run_out(session: Session, triggers: Sequence[Trigger]) -> str:
    """Runs until nothing is under way any more; says in a sentence why it ends there."""
    if not triggers:
        length = UNASKED if starts_by_itself(session.setup.program) else 10 * TICKS_PER_SECOND
        session.advance(length)
        return f"Nothing was tripped, so it ends after {length // 1000} s; --trip and --for say otherwise."
    session.advance(min(max(trigger.ends for trigger in triggers), CAP))
    while session.tick < CAP and not session.quiet:
        session.advance(min(session.tick + _LOOK_EVERY, CAP))
    if session.tick >= CAP:
        return (
            f"It ends after {CAP // 60_000} min, although not all that was started has ended; "
            "--for says otherwise."
        )
    whole = -(-(session.tick + _AFTER) // TICKS_PER_SECOND) * TICKS_PER_SECOND
    session.advance(whole)
    return f"It ends at {whole // 1000} s, when all that was started has ended; --for says otherwise."


def starts_by_itself(program: Program) -> bool:
    """Whether any routine starts without a trigger."""
    return any(routine.idle or routine.every for routine in program.routines)


def _notes(session: Session) -> tuple[str, ...]:
    notes = []
    warm_ups = [
        (info.sensor, one.warm_up)
        for info, one in zip(session.setup.yard.inputs, session.setup.program.inputs, strict=True)
        if one.warm_up
    ]
    if session.refused:
        notes.append(f"The board cannot be armed: {session.refused}.")
    notes += [
        f"{info.sensor} asks for a stop or an alarm when it clears, so it rests tripped; a trip clears it."
        for info in session.setup.yard.inputs
        if info.turned
    ]
    if warm_ups and not session.cold:
        said = " and ".join(f"{name} is ready only after {ticks // 1000} s" for name, ticks in warm_ups)
        notes.append(f"Sensors are taken as warm ({said}); --cold starts them cold.")
    return tuple(notes)
