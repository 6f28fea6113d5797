"""Writes into edges: effects run here, and here every limit of the output table holds whatever the steps say.

In a tick every output first takes its newest write and lets its effect change; then outputs go off, then
outputs go on, each in output order, so that of two outputs of one exclusion group the one goes off before the
other goes on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from sequencer.steps.effects import Effect, Fade, Hold, Ramp
from sequencer.steps.events import (
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Event,
    Fault,
    FaultCode,
    OutputEdge,
)
from sequencer.steps.program import Output
from sequencer.steps.random32 import Random32

_LONG_AGO = -(1 << 40)
NEVER = 1 << 62


@dataclass(frozen=True, slots=True)
class Write:
    """A wish for an output: the effect, made when it is taken, from the tick and the level then reached.

    `hurry` is for going to a state of rest: no shortest time holds it.
    """

    effect: Callable[[int, int], Effect]
    hurry: bool = False


def hold(level: int, hurry: bool = False) -> Write:
    """A write of a plain level."""
    return Write(lambda tick, was: Hold(level), hurry)


@dataclass(slots=True)
class _Line:
    """One output. `on` is for the limits, from `since`; `level` and `ramp` are what the edges told."""

    index: int
    limits: Output
    effect: Effect
    level: int
    on: bool
    since: int = _LONG_AGO
    ramp: Ramp | None = None
    write: Write | None = None
    hurry: bool = False
    due: int = NEVER

    def level_at(self, tick: int) -> int:
        return self.level if self.ramp is None else self.ramp.at(tick)

    def wants_on(self) -> bool:
        """A fade counts as on from its first tick to its last, unless it goes from off to off."""
        effect = self.effect
        if effect.level > 0:
            return True
        return isinstance(effect, Fade) and effect.next is not None and effect.to > 0

    def switch(self, on: bool, tick: int) -> None:
        self.on, self.since = on, tick


@dataclass(slots=True)
class Outputs:
    """The outputs of a board, at their safe level until written."""

    table: tuple[Output, ...]
    draws: Random32
    log: list[Event]
    _lines: list[_Line] = field(init=False)

    def __post_init__(self) -> None:
        self._lines = [
            _Line(i, output, Hold(output.safe), output.safe, output.safe > 0)
            for i, output in enumerate(self.table)
        ]

    def write(self, index: int, write: Write) -> None:
        """The newest write of a tick is the one that counts."""
        self._lines[index].write = write

    def go_safe(self, index: int) -> None:
        """The output goes to its safe level in this tick."""
        self.write(index, hold(self.table[index].safe, hurry=True))

    def rest_all(self, alarm: bool) -> None:
        """Every output goes to its alarm level, or to its safe one."""
        for index, output in enumerate(self.table):
            self.write(index, hold(output.alarm if alarm else output.safe, hurry=True))

    def levels(self, tick: int) -> tuple[int, ...]:
        """The level of each output in a tick that has run."""
        return tuple(line.level_at(tick) for line in self._lines)

    def next_due(self) -> int:
        """The next tick in which something changes by itself, or NEVER."""
        due = NEVER
        for line in self._lines:
            if line.due < due:
                due = line.due
        return due

    def run(self, tick: int) -> None:
        """The last thing in a tick: what reaches the pins."""
        touched = [line for line in self._lines if line.write is not None or line.due <= tick]
        if not touched:
            return
        for line in touched:
            self._take_write(line, tick)
            self._let_change(line, tick)
        for line in touched:
            self._off(line, tick)
        for line in touched:
            self._on(line, tick)
        for line in touched:
            self._tell(line, tick)
            line.due = _due_of(line)

    def _take_write(self, line: _Line, tick: int) -> None:
        if line.write is None:
            return
        self._cut_short(line, tick)
        line.effect = line.write.effect(tick, line.level_at(tick))
        line.hurry = line.write.hurry
        line.write = None
        if line.effect.clip is not None:
            self.log.append(ClipStarted(tick, line.effect.clip))

    def _cut_short(self, line: _Line, tick: int) -> None:
        effect = line.effect
        if effect.clip is not None and effect.next is not None:
            ended = effect.next <= tick
            self.log.append(ClipEnded(tick, effect.clip) if ended else ClipSilenced(tick, effect.clip))

    def _let_change(self, line: _Line, tick: int) -> None:
        effect = line.effect
        while effect.next is not None and effect.next <= tick:
            effect.change(tick, self.draws)
            if effect.next is None:
                line.hurry = line.hurry or effect.hurry_at_end
                if effect.clip is not None:
                    self.log.append(ClipEnded(tick, effect.clip))

    def _off(self, line: _Line, tick: int) -> None:
        if not line.on:
            return
        held = tick - line.since
        if not line.wants_on():
            if line.hurry or held >= line.limits.shortest_on:
                line.switch(False, tick)
        elif line.limits.longest_on and held >= line.limits.longest_on:
            self._drop(line, tick, FaultCode.LONGEST_ON)
            line.switch(False, tick)

    def _on(self, line: _Line, tick: int) -> None:
        if line.on or not line.wants_on():
            return
        if not line.hurry and tick - line.since < line.limits.shortest_off:
            return
        group = line.limits.exclusion
        if group and any(other.on for other in self._lines if other.limits.exclusion == group):
            self._drop(line, tick, FaultCode.EXCLUSION)
            return
        line.switch(True, tick)
        effect = line.effect
        if isinstance(effect, Fade) and effect.next is not None:
            effect.level, effect.begin = 0, tick

    def _drop(self, line: _Line, tick: int, code: FaultCode) -> None:
        """The wish is forgotten; the output stays off until a new one is written."""
        self._cut_short(line, tick)
        line.effect = Hold(0)
        self.log.append(Fault(tick, code, line.index))

    def _tell(self, line: _Line, tick: int) -> None:
        effect, was = line.effect, line.level_at(tick - 1)
        if line.on and line.wants_on():
            if isinstance(effect, Fade) and effect.next is not None and effect.level != effect.to:
                self._tell_fade(line, effect.ramp(), tick)
                return
            level = effect.level
        else:
            level = was if line.on else 0
        told = line.level_at(tick) if line.ramp is None or tick >= line.ramp.end else None
        line.level, line.ramp = level, None
        if level != told:
            self.log.append(OutputEdge(tick, line.index, level))

    def _tell_fade(self, line: _Line, ramp: Ramp, tick: int) -> None:
        if ramp == line.ramp:
            return
        if line.ramp is not None and line.ramp.end > tick:
            self.log.append(OutputEdge(tick, line.index, line.ramp.at(tick)))
        line.ramp = ramp
        self.log.append(OutputEdge(tick, line.index, ramp.to, ramp.end - ramp.begin))


def _due_of(line: _Line) -> int:
    due = NEVER if line.effect.next is None else line.effect.next
    wanted = line.wants_on()
    if line.on and not wanted:
        due = min(due, line.since + line.limits.shortest_on)
    elif wanted and not line.on:
        due = min(due, line.since + line.limits.shortest_off)
    if line.on and line.limits.longest_on:
        due = min(due, line.since + line.limits.longest_on)
    return due
