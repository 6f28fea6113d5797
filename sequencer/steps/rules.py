"""The rules of the board: power-up, arming, stops, and the order of things within one tick.

Program, input levels and requests go in, events come out; the bytes, the link and the pins are left to
others. A tick is: inputs, stop, alarm, link loss, ends of routines, triggers, steps, outputs.
"""

from __future__ import annotations

from sequencer.steps.effects import Effect, Pulse
from sequencer.steps.events import Cause, Event, Fault, FaultCode, InputChanged, Mode, ModeChanged
from sequencer.steps.inputs import InputChange, Inputs
from sequencer.steps.interpreter import Taken
from sequencer.steps.outputs import NEVER, Outputs, Write
from sequencer.steps.program import ON, Limits, Program
from sequencer.steps.random32 import Random32
from sequencer.steps.running import Running
from sequencer.steps.verify import verify

LONGEST_DRIVE = 500
"""Ticks after which a drive by hand ends unless it is renewed."""

_NOTHING = Program(board=0, show_id=0)


class Machine:
    """A board that runs a program: same tables, same inputs, same seed, same outputs to the tick.

    It powers up disarmed at tick 0 with every output safe. `advance(to)` runs every tick from `tick` up to,
    not including, `to`; what is called between two advances takes effect in the next tick to run, `tick`.
    Input levels given before tick 0 has run are those found at power-up: they count at once, and start
    nothing. It skips ticks in which nothing happens, and `every_tick` makes it run them all, with the same
    events.

    `trail`, where there is one, gets every step that is taken. Raises ValueError for a program that does not verify
    against the limits. A seed of 0 is replaced.
    """

    def __init__(
        self, program: Program | None, limits: Limits, seed: int, trail: list[Taken] | None = None
    ) -> None:
        problems = verify(program, limits) if program is not None else ()
        if problems:
            raise ValueError(f"the program may not run: {problems[0].text}")
        self._has_program = program is not None
        self._program = program or _NOTHING
        self._log: list[Event] = []
        self._draws = Random32(seed)
        self._inputs = Inputs(self._program.inputs)
        self._outputs = Outputs(self._program.outputs, self._draws, self._log)
        self._running = Running(self._program, limits, self._inputs, self._outputs, self._draws, self._log, trail)
        self._tick = 0
        self._mode = Mode.DISARMED
        self._last_heartbeat = 0
        self._stop_worked = False
        self._asked = True

    @property
    def tick(self) -> int:
        """The next tick to run."""
        return self._tick

    @property
    def mode(self) -> Mode:
        """What the board may do now."""
        return self._mode

    @property
    def random_state(self) -> int:
        """The state of the generator: a machine with this seed goes on with the same draws."""
        return self._draws.state

    @property
    def stop_worked(self) -> bool:
        """Whether somebody has worked a stop at the board since the house alarm ended: else it is not reset."""
        return self._stop_worked

    def levels(self) -> tuple[int, ...]:
        """The level of each output in the last tick that ran."""
        return self._outputs.levels(self._tick - 1)

    def inputs_tripped(self) -> tuple[bool, ...]:
        """The settled state of each input, trips by hand included."""
        return self._inputs.states()

    def next_due(self) -> int | None:
        """The next tick in which anything happens if nothing new is asked and no pin changes, or None."""
        if self._asked:
            return self._tick
        due = self._outputs.next_due()
        settles = self._inputs.next_due(self._tick)
        if settles is not None:
            due = min(due, settles)
        if self._mode is Mode.ARMED:
            due = min(due, self._running.next_due(self._tick))
            if self._program.heartbeat:
                due = min(due, self._last_heartbeat + self._program.heartbeat)
        return None if due >= NEVER else max(due, self._tick)

    def advance(self, to: int, *, every_tick: bool = False) -> tuple[Event, ...]:
        """Runs the ticks before `to`; the events since the last advance. Raises ValueError for the past."""
        if to < self._tick:
            raise ValueError(f"tick {to} is past; the next one is {self._tick}")
        while True:
            due = self._tick if every_tick else self.next_due()
            if due is None or due >= to:
                break
            self._tick = due
            self._run_tick(due)
            self._tick = due + 1
        self._tick = to
        events = tuple(self._log)
        self._log.clear()
        return events

    def set_input(self, index: int, level_high: bool) -> None:
        """A pin reads high or low from now on. Raises ValueError for an input that there is not."""
        self._check_input(index)
        self._inputs.set_level(index, level_high)
        self._asked = True

    def press(self, index: int, ticks: int) -> None:
        """Trips an input by hand for that many ticks, at least one, without settle time or warm-up.

        Raises ValueError for an input that there is not.
        """
        self._check_input(index)
        self._inputs.press(index, self._tick, ticks)
        self._asked = True

    def heartbeat(self) -> None:
        """The host is there."""
        self._last_heartbeat = self._tick

    def arm(self) -> str | None:
        """Arms the board, or says in a sentence why it will not. Only a person may ask for it."""
        refusal = self._why_not_arm()
        if refusal is None:
            self._set_mode(Mode.ARMED, Cause.BY_HAND)
            self._outputs.rest_all(alarm=False)
            self._last_heartbeat = self._tick
            self._running.arm(self._tick)
        return refusal

    def disarm(self) -> None:
        """Ends every routine and drive by hand, outputs to safe. A stop or an alarm stays what it is."""
        if self._mode is Mode.ARMED:
            self._halt(Mode.DISARMED, Cause.BY_HAND)
        elif self._mode is Mode.DISARMED:
            self._outputs.rest_all(alarm=False)
            self._asked = True

    def reset_alarm(self) -> str | None:
        """Takes back a latched alarm, to disarmed and outputs safe, or says in a sentence why it will not."""
        if self._mode is not Mode.ALARMED:
            return "there is no alarm to reset"
        if self._inputs.any_may_be_tripped(self._inputs.alarms):
            return "the house alarm is still on"
        if not self._stop_worked:
            return "nobody has worked a stop at the board since the house alarm ended"
        self._halt(Mode.DISARMED, Cause.BY_HAND)
        return None

    def drive(self, output: int, level: int, ticks: int) -> str | None:
        """Holds an output at a level for up to 500 ticks, anew with each call, or says why it will not.

        The limits of the output hold here too; at its end the output goes to its safe level.
        """
        refusal = self._why_not_drive(output, level, ticks)
        if refusal is None:
            safe = self._program.outputs[output].safe

            def made(tick: int, was: int) -> Effect:
                return Pulse(level, tick + ticks, after=safe, hurry_at_end=True)

            self._outputs.write(output, Write(made))
            self._asked = True
        return refusal

    def _check_input(self, index: int) -> None:
        if not 0 <= index < len(self._program.inputs):
            raise ValueError(f"there is no input {index}; the program has {len(self._program.inputs)}")

    def _why_not_arm(self) -> str | None:
        if not self._has_program:
            return "there is no program on the board"
        if self._mode is Mode.ARMED:
            return "the board is armed already"
        if self._mode is Mode.ALARMED:
            return "a house alarm is latched; reset it first"
        if self._inputs.any_may_be_tripped(self._inputs.stops):
            return "a stop input is tripped"
        if self._inputs.any_may_be_tripped(self._inputs.alarms):
            return "the house alarm is on"
        return None

    def _why_not_drive(self, output: int, level: int, ticks: int) -> str | None:
        if self._mode is not Mode.DISARMED:
            return {
                Mode.ARMED: "the board is armed",
                Mode.STOPPED: "the board is stopped",
                Mode.ALARMED: "a house alarm is latched",
            }[self._mode]
        outputs = self._program.outputs
        if not 0 <= output < len(outputs):
            return f"there is no output {output}; the program has {len(outputs)}"
        if not 0 <= level <= ON or (level not in (0, ON) and not outputs[output].fades):
            return f"output {output} cannot take the level {level}"
        if not 1 <= ticks <= LONGEST_DRIVE:
            return f"a drive by hand lasts 1 to {LONGEST_DRIVE} ticks, not {ticks}"
        return None

    def _run_tick(self, tick: int) -> None:
        changes = self._inputs.run(tick)
        self._log.extend(InputChanged(tick, change.input, change.tripped) for change in changes)
        self._guard(tick)
        self._see_stop_worked(changes)
        if self._mode is Mode.ARMED:
            self._running.end_due(tick)
            self._running.trigger(changes)
            self._running.step()
        self._outputs.run(tick)
        self._asked = False

    def _guard(self, tick: int) -> None:
        """Stop, alarm, link loss, in this order; an alarm outranks a stop, before it and after it."""
        if self._mode in (Mode.DISARMED, Mode.ARMED) and self._inputs.any_tripped(self._inputs.stops):
            self._halt(Mode.STOPPED, Cause.STOP_INPUT)
        if self._mode is not Mode.ALARMED and self._inputs.any_tripped(self._inputs.alarms):
            self._halt(Mode.ALARMED, Cause.ALARM_INPUT)
        asked_for = self._program.heartbeat
        if self._mode is Mode.ARMED and asked_for and tick - self._last_heartbeat >= asked_for:
            self._log.append(Fault(tick, FaultCode.LINK_LOST, 0))
            self._halt(Mode.STOPPED, Cause.LINK_LOST)

    def _see_stop_worked(self, changes: list[InputChange]) -> None:
        """After an alarm somebody has to be at the board: what is tripped over the link does not count."""
        if self._mode is not Mode.ALARMED or self._inputs.any_tripped(self._inputs.alarms):
            self._stop_worked = False
        elif any(one.tripped and not one.by_hand and one.input in self._inputs.stops for one in changes):
            self._stop_worked = True

    def _halt(self, mode: Mode, cause: Cause) -> None:
        self._running.kill_all(cause, self._tick)
        self._outputs.rest_all(alarm=mode is Mode.ALARMED)
        self._set_mode(mode, cause)

    def _set_mode(self, mode: Mode, cause: Cause) -> None:
        self._mode = mode
        self._log.append(ModeChanged(self._tick, mode, cause))
        self._asked = True
