"""What the inputs of the board read: hands on sensors and rods in front of them -> raw levels, tick by tick.

Settling, polarity and warm-up are the rules' business; when a rod gets where is the motion's.
"""

from __future__ import annotations

from heapq import heappop, heappush

from sequencer.steps.program import Program
from sequencer.steps.rules import Machine


class Readings:
    """What the inputs read: somebody on a sensor, or a rod in front of it; changes that are still to come."""

    def __init__(self, program: Program, machine: Machine) -> None:
        self._program = program
        self._machine = machine
        self._count = 0
        self._coming: list[tuple[int, int, int, bool]] = []
        self._foreseen: dict[int, list[tuple[int, int, bool]]] = {}
        self._hands = [0] * len(program.inputs)
        self._sees = [False] * len(program.inputs)
        self._beat = program.heartbeat // 2
        self._next_beat = 0
        self.tripped_at_start: tuple[int, ...] = ()

    @property
    def held(self) -> bool:
        """Whether somebody is on a sensor, or will be."""
        return bool(self._coming) or any(self._hands)

    def add(self, tick: int, index: int, held: bool) -> None:
        self._count += 1
        heappush(self._coming, (tick, self._count, index, held))

    def rests_on(self, index: int, sees: bool) -> None:
        """What a sensor sees at power-up."""
        if sees:
            self._sees[index] = True
            self.tripped_at_start = (*self.tripped_at_start, index)
            self._read(index)

    def foresee(self, rod: int, changes: list[tuple[int, int, bool]]) -> None:
        """What a rod's sensors are to see from now on, in place of what was foreseen for it before."""
        self._foreseen[rod] = changes

    def foresee_more(self, rod: int, changes: list[tuple[int, int, bool]]) -> None:
        """What a rod's sensors are to see besides."""
        self._foreseen.setdefault(rod, []).extend(changes)

    def apply(self) -> int:
        """Sets what is due at the current tick; gives the tick of the next change."""
        now = self._machine.tick
        while self._coming and self._coming[0][0] <= now:
            _, _, index, held = heappop(self._coming)
            self._hands[index] += 1 if held else -1
            self._read(index)
        for changes in self._foreseen.values():
            while changes and changes[0][0] <= now:
                _, index, sees = changes.pop(0)
                self._sees[index] = sees
                self._read(index)
        later = [changes[0][0] for changes in self._foreseen.values() if changes]
        if self._coming:
            later.append(self._coming[0][0])
        if self._beat:
            later.append(self._keep_alive(now))
        return min(later, default=1 << 60)

    def _keep_alive(self, now: int) -> int:
        """A dry run has its laptop beside it: the heartbeat that the show asks for comes in time."""
        if now >= self._next_beat:
            self._machine.heartbeat()
            self._next_beat = now + self._beat
        return self._next_beat

    def _read(self, index: int) -> None:
        tripped = self._hands[index] > 0 or self._sees[index]
        self._machine.set_input(index, tripped != self._program.inputs[index].low_when_tripped)
