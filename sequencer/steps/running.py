"""Which routines run: starts and refusals, the policies, idles, slots, and whose an output is.

What the steps do is in `interpreter`, when each phase of a tick comes is in `rules`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sequencer.steps.events import (
    Cause,
    Ended,
    Event,
    Fault,
    FaultCode,
    Killed,
    Skipped,
    SkipReason,
    Started,
)
from sequencer.steps.inputs import InputChange, Inputs
from sequencer.steps.interpreter import Run, Taken, run_steps
from sequencer.steps.outputs import NEVER, Outputs, Write
from sequencer.steps.program import MOST_BEGINNING, WHOLE_YARD, Clip, Edge, Limits, Program, Routine, WhileRunning
from sequencer.steps.random32 import Random32

_MOST_RUNS = 0xFFFF
"""The run number after which 1 comes again: a board counts in 16 bits."""


@dataclass(slots=True)
class _Standing:
    """What is remembered of a routine from run to run, since arming."""

    routine: Routine
    runs: int = 0
    started_at: int = -1
    ready: int = 0
    every_due: int = NEVER
    once_more: bool = False
    held: bool = False
    wants_clear: bool = False


@dataclass(slots=True)
class Running:
    """The routines of a program on a board that is armed, or (with nothing running) is not.

    `_clock` is the next tick in which a routine can start without an input, as things were when nothing had
    `_stirred` since; `_joined` says that a run has begun while others take their steps; `_begun` counts the starts of a
    tick.
    """

    program: Program
    limits: Limits
    inputs: Inputs
    outputs: Outputs
    draws: Random32
    log: list[Event]
    trail: list[Taken] | None = None
    tick: int = 0
    _standings: list[_Standing] = field(init=False)
    _runs: dict[int, Run] = field(init=False, default_factory=dict)
    _owner: dict[int, int] = field(init=False, default_factory=dict)
    _clock: int = 0
    _stirred: bool = True
    _joined: bool = False
    _begun: int = 0
    _arming: bool = False

    def __post_init__(self) -> None:
        self._standings = [_Standing(routine) for routine in self.program.routines]

    @property
    def clips(self) -> tuple[Clip, ...]:
        """The clips of the program."""
        return self.program.clips

    def arm(self, tick: int) -> None:
        """Forgets all earlier runs, and draws, in routine order, the first times of their clocks."""
        self._standings = [_Standing(routine, ready=tick) for routine in self.program.routines]
        self._stirred = self._arming = True
        for standing in self._standings:
            self._draw_every(standing, tick)

    def kill_all(self, cause: Cause, tick: int) -> None:
        """Everything ends, and nothing is due any more; the outputs are for the caller to put to rest."""
        self.log.extend(Killed(tick, number, cause) for number in sorted(self._runs))
        self._runs.clear()
        self._owner.clear()
        self._stirred = True
        self._standings = [_Standing(routine) for routine in self.program.routines]

    def end_due(self, tick: int) -> None:
        """Ends the runs that have nothing but their end left."""
        self.tick, self._begun = tick, 0
        over = [run for run in self._runs.values() if run.at_end(tick)]
        for run in sorted(over, key=lambda run: run.routine):
            self.finish(run)

    def trigger(self, changes: list[InputChange]) -> None:
        """Starts what input changes, clocks and kept wishes ask for, then the idles, in routine order."""
        if not changes and not self._stirred and self.tick < self._clock:
            return
        self._stirred = True
        self._see_clear(changes)
        arming, self._arming = self._arming, False
        for number, standing in enumerate(self._standings):
            if arming and standing.routine.at_arming:
                self._request(number, Cause.ARMED)
            if standing.once_more and self._refusal(number) is None and number not in self._runs:
                self._start(number, Cause.ONCE_MORE)
            asked = self._asked_by(standing.routine, changes)
            if asked is not None:
                self._trigger_by(number, asked)
            elif standing.every_due <= self.tick:
                self._request(number, Cause.EVERY)
            if standing.every_due <= self.tick:
                self._draw_every(standing, self.tick)
        for number, standing in enumerate(self._standings):
            if standing.routine.idle and self._idle_may_start(number):
                self._start(number, Cause.IDLE)

    def _see_clear(self, changes: list[InputChange]) -> None:
        """An input that clears holds back no routine any more."""
        for change in changes:
            if not change.tripped:
                for standing in self._standings:
                    if standing.routine.blocked_while == change.input:
                        standing.wants_clear = False

    def step(self) -> None:
        """Every run takes its due steps, by rank, then number; a run that starts meanwhile joins in."""
        for run in self._runs.values():
            run.ran = False
        ready = self._ready()
        while ready:
            run = ready.pop(0)
            if not run.alive:
                continue
            run.ran, self._joined = True, False
            run_steps(self, run, self.limits.steps_per_tick)
            if self._joined:
                ready = self._ready()

    def _ready(self) -> list[Run]:
        ready = [run for run in self._runs.values() if not run.ran and (run.awaits or run.wake <= self.tick)]
        return sorted(ready, key=lambda run: (run.rank, run.routine)) if len(ready) > 1 else ready

    def next_due(self, tick: int) -> int:
        """The next tick, `tick` or later, in which a routine has something to do if no input changes."""
        if self._stirred:
            self._clock = self._next_start(tick)
            self._stirred = False
        due = self._clock
        for run in self._runs.values():
            if run.wake < due:
                due = run.wake
        return due

    def _next_start(self, tick: int) -> int:
        due = NEVER
        for number, standing in enumerate(self._standings):
            due = min(due, standing.every_due)
            if standing.routine.idle or standing.once_more:
                due = min(due, self._could_start(number, tick))
        return due

    def tripped(self, index: int) -> bool:
        """The settled state of an input."""
        return self.inputs.tripped(index)

    def fault(self, code: FaultCode, subject: int) -> None:
        """Logs a fault."""
        self.log.append(Fault(self.tick, code, subject))

    def write(self, run: Run, output: int, write: Write) -> None:
        """The run writes an output, which is now its own."""
        self._owner[output] = run.routine
        self.outputs.write(output, write)

    def start_by_step(self, run: Run, number: int) -> None:
        """A step asks for a start; an idle is let go, and starts by the idles' own rule in the next tick."""
        self._stirred = True
        if self._standings[number].routine.idle:
            self._standings[number].held = False
        else:
            self._request(number, Cause.STEP, run.routine)

    def stop_by_step(self, number: int) -> None:
        """A step kills a routine, and a start that it waits for; an idle stays stopped."""
        self._stirred = True
        standing = self._standings[number]
        standing.once_more = False
        standing.held = standing.routine.idle
        self._kill(number, Cause.STEP)

    def finish(self, run: Run) -> None:
        """The run is over; what it wrote stays, and is no one's, or still its own if it is an idle."""
        self._forget(run)
        self.log.append(Ended(self.tick, run.routine))
        if not run.idle:
            self._owner = {output: owner for output, owner in self._owner.items() if owner != run.routine}
            self._free_idles(run.routine)

    def _asked_by(self, routine: Routine, changes: list[InputChange]) -> InputChange | None:
        for change in changes:
            for start in routine.starts:
                if start.input == change.input and (start.edge is Edge.TRIPS) == change.tripped:
                    return change
        return None

    def _trigger_by(self, number: int, change: InputChange) -> None:
        warm_up = self.program.inputs[change.input].warm_up
        if self.tick < warm_up and not change.by_hand:
            self.log.append(Skipped(self.tick, number, SkipReason.WARMING_UP))
        else:
            self._request(number, Cause.TRIGGER, change.input)

    def _request(self, number: int, cause: Cause, subject: int | None = None) -> None:
        """A start is asked for: by the routine's policy it comes about, is kept, or is skipped."""
        standing, running = self._standings[number], number in self._runs
        policy = standing.routine.while_running
        reason = self._refusal(number)
        if running and reason is not SkipReason.BLOCKED:
            if policy is WhileRunning.ONCE_MORE:
                reason = SkipReason.PENDING if standing.once_more else None
                standing.once_more = True
            elif policy is WhileRunning.IGNORE:
                reason = SkipReason.RUNNING
            elif reason is None:
                self._kill(number, Cause.RESTART)
                running = False
        if reason is not None:
            self.log.append(Skipped(self.tick, number, reason))
        elif not running:
            self._start(number, cause, subject)

    def _refusal(self, number: int) -> SkipReason | None:
        """Why the routine may not start now, leaving aside that it may be running."""
        standing = self._standings[number]
        if standing.wants_clear:
            return SkipReason.BLOCKED
        if standing.started_at == self.tick:
            return SkipReason.TWICE
        if number in self._runs:
            return None
        if self.tick < standing.ready:
            return SkipReason.RESTING
        return None if self._slot_for(standing.routine) else SkipReason.NO_SLOT

    def _slot_for(self, routine: Routine) -> bool:
        """Whether there is a slot, or an idle that would give up its own."""
        if len(self._runs) < self.limits.routines_running:
            return True
        return not routine.idle and any(run.idle for run in self._runs.values())

    def _start(self, number: int, cause: Cause, subject: int | None = None) -> None:
        standing = self._standings[number]
        routine = standing.routine
        if not routine.idle:
            self._make_way(routine)
        standing.runs = standing.runs % _MOST_RUNS + 1
        standing.started_at = self.tick
        standing.once_more = False
        blocker = routine.blocked_while
        standing.wants_clear = blocker is not None and self.inputs.tripped(blocker)
        self._draw_every(standing, self.tick)
        self._joined = self._stirred = True
        run = Run(number, routine.rank, routine.idle, routine.steps, self.tick, standing.runs)
        if self._begun == MOST_BEGINNING:
            run.wake = self.tick + 1
        else:
            self._begun += 1
        self._runs[number] = run
        self.log.append(Started(self.tick, number, cause, subject))

    def _draw_every(self, standing: _Standing, tick: int) -> None:
        every = standing.routine.every
        if every is not None:
            standing.every_due = tick + every[0] + self.draws.below(every[1] - every[0] + 1)

    def _make_way(self, routine: Routine) -> None:
        """The idles of its group end, with all they left on; if a slot is still wanting, one more does."""
        for number, standing in enumerate(self._standings):
            if standing.routine.idle and _in_the_way(standing.routine, routine):
                self._kill(number, Cause.GIVES_WAY)
        if len(self._runs) >= self.limits.routines_running:
            idles = [run for run in self._runs.values() if run.idle]
            last = min(idles, key=lambda run: (run.rank, -run.routine))
            self._kill(last.routine, Cause.SLOT_NEEDED)

    def _idle_may_start(self, number: int) -> bool:
        return (
            self._could_start(number, self.tick) <= self.tick
            and self._standings[number].started_at != self.tick
        )

    def _could_start(self, number: int, tick: int) -> int:
        """The tick, `tick` or later, in which an idle, or a kept start, can begin as things are."""
        standing = self._standings[number]
        routine = standing.routine
        if number in self._runs or standing.held or standing.wants_clear or not self._slot_for(routine):
            return NEVER
        if routine.idle and any(
            not run.idle and _in_the_way(routine, self.program.routines[run.routine])
            for run in self._runs.values()
        ):
            return NEVER
        return max(tick, standing.ready)

    def _free_idles(self, number: int) -> None:
        """A scare is over: the idles that it held off may start from the next tick on."""
        scare = self.program.routines[number]
        for standing in self._standings:
            if standing.routine.idle and _in_the_way(standing.routine, scare):
                standing.ready = max(standing.ready, self.tick + 1)

    def _kill(self, number: int, cause: Cause) -> None:
        """Ends a run, if there is one, and puts to safe the outputs that are the routine's own."""
        run = self._runs.get(number)
        if run is not None:
            self._forget(run)
            self.log.append(Killed(self.tick, number, cause))
            if not run.idle:
                self._free_idles(number)
        for output in sorted(output for output, owner in self._owner.items() if owner == number):
            self.outputs.go_safe(output)
            del self._owner[output]

    def _forget(self, run: Run) -> None:
        run.alive = False
        self._stirred = True
        del self._runs[run.routine]
        standing = self._standings[run.routine]
        rest = standing.routine.rest
        standing.ready = max(standing.ready, self.tick + (max(rest, 1) if run.idle else rest))


def _in_the_way(idle: Routine, scare: Routine) -> bool:
    """An idle runs while no scare of its prop does; what is of the whole yard concerns every prop."""
    return WHOLE_YARD in (idle.group, scare.group) or idle.group == scare.group
