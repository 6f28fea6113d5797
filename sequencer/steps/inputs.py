"""Pin levels into settled states: polarity, settle time, and trips by hand.

What a change means (a start, a stop) is left to the rules.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.steps.program import Input, InputKind


@dataclass(frozen=True, slots=True)
class InputChange:
    """An input changed its state in this tick; `by_hand` if a request did it."""

    input: int
    tripped: bool
    by_hand: bool


@dataclass(slots=True)
class _Pin:
    """`raw` is what the pin says, `since` from when it differs from `settled`, `state` what counts."""

    settle: int
    raw: bool = False
    since: int | None = None
    settled: bool = False
    pressed_until: int = 0
    state: bool = False


class Inputs:
    """The inputs of a board. Before any tick has run they are clear; what they read at tick 0 counts at once
    and is no change, as a board finds its pins at power-up."""

    def __init__(self, inputs: tuple[Input, ...]) -> None:
        self._inputs = inputs
        self._pins = [_Pin(sensor.settle) for sensor in inputs]
        self._powered_up = False
        self.stops = self._of_kind(InputKind.STOP)
        self.alarms = self._of_kind(InputKind.ALARM)

    def _of_kind(self, kind: InputKind) -> tuple[int, ...]:
        return tuple(i for i, sensor in enumerate(self._inputs) if sensor.kind is kind)

    def set_level(self, index: int, high: bool) -> None:
        """The pin reads high or low from the next tick on."""
        self._pins[index].raw = high != self._inputs[index].low_when_tripped

    def press(self, index: int, tick: int, ticks: int) -> None:
        """The input counts as tripped for that many ticks from `tick` on, without settle time."""
        self._pins[index].pressed_until = tick + max(ticks, 1)

    def tripped(self, index: int) -> bool:
        """The state that counts."""
        return self._pins[index].state

    def states(self) -> tuple[bool, ...]:
        """The state that counts, of each input."""
        return tuple(pin.state for pin in self._pins)

    def any_tripped(self, indexes: tuple[int, ...]) -> bool:
        """Whether one of them counts as tripped."""
        return any(self._pins[index].state for index in indexes)

    def any_may_be_tripped(self, indexes: tuple[int, ...]) -> bool:
        """Whether one of them counts as tripped, or reads so and has not settled yet."""
        return any(self._pins[index].state or self._pins[index].raw for index in indexes)

    def run(self, tick: int) -> list[InputChange]:
        """What changed in this tick, in input order."""
        changes = []
        for index, pin in enumerate(self._pins):
            self._settle(pin, tick)
            if not self._powered_up:
                pin.state = pin.settled
            pressed = tick < pin.pressed_until
            state = pin.settled or pressed
            if state != pin.state:
                pin.state = state
                changes.append(InputChange(index, state, pressed and not pin.settled))
        self._powered_up = True
        return changes

    def _settle(self, pin: _Pin, tick: int) -> None:
        if pin.raw == pin.settled:
            pin.since = None
            return
        if pin.since is None:
            pin.since = tick
        if tick - pin.since >= pin.settle or not self._powered_up:
            pin.settled = pin.raw
            pin.since = None

    def next_due(self, tick: int) -> int | None:
        """The next tick, `tick` or later, in which something changes if the pins stay as they are."""
        due: int | None = None
        for pin in self._pins:
            if pin.since is not None and (due is None or pin.since + pin.settle < due):
                due = pin.since + pin.settle
            if pin.pressed_until >= tick and (due is None or pin.pressed_until < due):
                due = pin.pressed_until
        return due
