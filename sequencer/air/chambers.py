"""What a cylinder on a shared supply went through -> the pressures of its chambers over time, where they are asked for.

A rod that moves gives a row for each step of the solver; one that stands gives one where what feeds it has moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sequencer.air.standing import StillPort

SEEN_PA = 100.0
"""By how much the pressure of a rod that stands must have moved to be kept again."""

Row = tuple[float, float, float]


class Chambers:
    """`rows` are (time in s, pressure at the cap end, at the rod end), absolute; an open end has that of the air
    outside.

    `places` are (end, where its pressure stands among the gases): end 0 is the cap end, 1 the rod end.
    """

    def __init__(self, places: Sequence[tuple[int, int]], ambient_pa: float) -> None:
        self.rows: list[Row] = []
        self._places, self._ambient_pa = tuple(places), ambient_pa

    def moves(self, at_s: float, gases: Sequence[float]) -> None:
        """At a moment its air is its own."""
        self._add(at_s, [gases[at] for _, at in self._places])

    def went(self, since_s: float, samples: Iterable[Sequence[float]]) -> None:
        """It went through samples (t, x, v, gases...), whose times count from `since_s`."""
        for sample in samples:
            self.moves(since_s + sample[0], sample[3:])

    def stands(self, at_s: float, ports: Sequence[StillPort], fed_pa: float) -> None:
        """It stands, and what is fed has the pressure of all that stands on its node."""
        found = [fed_pa if port.fed else port.pressure_pa for port in ports]
        last = self.rows[-1][1:] if self.rows else ()
        if not last or any(abs(new - last[end]) > SEEN_PA for new, (end, _) in zip(found, self._places, strict=True)):
            self._add(at_s, found)

    def _add(self, at_s: float, found: Sequence[float]) -> None:
        both = [self._ambient_pa, self._ambient_pa]
        for pressure, (end, _) in zip(found, self._places, strict=True):
            both[end] = pressure
        self.rows.append((at_s, both[0], both[1]))
