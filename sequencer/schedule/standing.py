"""Where each cylinder stands, as far as it can be known before the show runs.

A place is a fraction of the stroke: 0 home, 1 out. Times are microseconds from whatever point the one who holds
the value counts from; `later` moves that point.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from sequencer.air.request import Told
from sequencer.frozen import frozen
from sequencer.schedule.plan import Position

if TYPE_CHECKING:
    from sequencer.air.from_rig import ValveWay

HOME, OUT = 0.0, 1.0
LONG_AGO = -(10**12)
"""Before any show began."""
MOST_TOLD = 8
"""Commands since a rod last stood with its air settled; after more it counts as being anywhere it can be."""


@frozen
class Past:
    """What a rod has been told since it last stood still with its air settled, at `place`: when, and which way."""

    place: float
    told: tuple[tuple[int, ValveWay], ...]

    def then(self, at_us: int, way: ValveWay) -> Past | None:
        """With one command more; None where that is before the last, or one too many to follow."""
        if at_us < self.told[-1][0] or len(self.told) >= MOST_TOLD:
            return None
        return Past(self.place, (*self.told, (at_us, way)))

    def before(self, at_us: int) -> tuple[Told, ...]:
        """The commands as they count for one at that time."""
        return tuple(Told(at_us - us, way) for us, way in self.told)

    def later(self, by_us: int) -> Past:
        return Past(self.place, tuple((us - by_us, way) for us, way in self.told))


@frozen
class Standing:
    """One cylinder. `spots` are the places where it may come to rest, `left` those it may still be leaving.

    It rests at `rests_us` at the latest. `told_us` is when its last command was given and `due_us` when that one
    arrives as predicted; `landed` says that the last command was a `lands`. `way` is what the last command asked.
    `past` is known where all paths agree on it.
    """

    spots: frozenset[float]
    left: frozenset[float] = frozenset()
    rests_us: int = LONG_AGO
    told_us: int = LONG_AGO
    due_us: int = LONG_AGO
    landed: bool = False
    way: Literal["out", "home", "other", "unknown"] = "unknown"
    past: Past | None = None

    def places(self, at_us: int) -> frozenset[float]:
        """Every place from which it may set out at that time."""
        return self.spots | self.left if self.moves(at_us) else self.spots

    def moves(self, at_us: int) -> bool:
        """Whether it may still be under way then."""
        return self.rests_us > at_us

    def position(self, at_us: int) -> Position:
        """The same in a word."""
        if self.moves(at_us):
            return "moving"
        if len(self.spots) > 1:
            return "either"
        (spot,) = self.spots
        return "home" if spot == HOME else "out" if spot == OUT else "between"

    def later(self, by_us: int) -> Standing:
        """The same, counted from a point that is later by that much."""
        rests, told, due = self.rests_us, self.told_us, self.due_us
        if rests + told + due <= 3 * LONG_AGO or not by_us:
            return self
        return Standing(self.spots, self.left, _moved(rests, by_us), _moved(told, by_us), _moved(due, by_us),
                        self.landed, self.way, self.past.later(by_us) if self.past is not None else None)

    def settled(self) -> Standing:
        """The same, when all of it is long over."""
        return Standing(self.spots, way=self.way)


def _moved(us: int, by_us: int) -> int:
    return us if us <= LONG_AGO else max(us - by_us, LONG_AGO)


State = Mapping[str, Standing]


def joined(one: Standing, other: Standing) -> Standing:
    """What is true of both paths together."""
    if one == other:
        return one
    return Standing(
        one.spots | other.spots, one.left | other.left, max(one.rests_us, other.rests_us),
        max(one.told_us, other.told_us), max(one.due_us, other.due_us), one.landed or other.landed,
        one.way if one.way == other.way else "unknown", one.past if one.past == other.past else None,
    )


def join(states: list[State]) -> dict[str, Standing]:
    """Path by path joined; all states know the same cylinders."""
    result = dict(states[0])
    for state in states[1:]:
        for name, standing in state.items():
            result[name] = joined(result[name], standing) if name in result else standing
    return result


def shifted(state: State, by_us: int) -> dict[str, Standing]:
    """Every cylinder counted from a point that is later by that much."""
    return {name: standing.later(by_us) for name, standing in state.items()} if by_us else dict(state)


def forgotten(state: State) -> dict[str, Standing]:
    """Every cylinder without its past: when its commands were given is not known to the tick."""
    return {name: replace(standing, past=None) if standing.past is not None else standing
            for name, standing in state.items()}
