"""Landings on a supply that gives way: plan, see how long they take, plan again, until it changes no more.

How long they take on the supply says the caller (`Takes`), who knows it. Where that is longer than planned, the valve
is switched as much earlier, which changes what the supply does to the motions beside it; so it is looked at again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.schedule.plan import US_PER_TICK, PlannedRoutine
from sequencer.show.model import Action

Landing = tuple[str, Span, tuple[Span, ...]]
"""A cylinder, the action that is to make it land, and the uses of gestures that wrote it in: each use is its own."""
Laid = TypeVar("Laid")

MOST_ROUNDS = 5
"""The first, in which each motion is planned by itself, and four more."""
ENOUGH_US, ENOUGH_SHARE = 5_000, 0.01
"""A landing that is off by no more than either is settled: 5 ms nobody sees, 1 % is what the air model itself may be
off where several draw."""
STEEPEST, FLATTEST = -2.5, -0.4
"""Bounds of how much less late a landing comes for each us that it is allowed more; -1 where it draws alone."""


def landing_of(cylinder: str, action: Action) -> Landing:
    """The landing of a cylinder that an action asks for."""
    return cylinder, action.span, action.uses


@frozen
class Taken:
    """From its command to the landing: `planned_us` as the routine is planned, `found_us` on the supply.

    Not `arrives`: it has not come by `found_us`, when it is told otherwise, or when nobody looks any more.
    """

    planned_us: int
    found_us: int
    arrives: bool = True

    @property
    def late_us(self) -> int:
        return self.found_us - self.planned_us


Takes = Callable[[PlannedRoutine], Mapping[Landing, Taken]]
"""How long the landings of a planned routine take; those for which the supply makes no difference are left out."""


def settled(lay: Callable[[Mapping[Landing, int]], Laid], planned_of: Callable[[Laid], PlannedRoutine],
            takes: Takes) -> tuple[Laid, Mapping[Landing, Taken]]:
    """What `lay` gives once its landings come when they should, and how long those take that never will.

    Rounds end when no valve is switched a tick earlier or later than in the round before. Where they come round to no
    end, as where a rod bounces off a cushion or not by a hair, the best of them counts.
    """
    allowed: dict[Landing, int] = {}
    before: Mapping[Landing, Taken] = {}
    best, least, left = lay(allowed), float("inf"), dict[Landing, Taken]()
    for _ in range(MOST_ROUNDS):
        laid = lay(allowed)
        found = takes(planned_of(laid))
        worst = max((abs(taken.late_us) for taken in found.values()), default=0)
        if worst < least:
            best, least = laid, worst
            left = {landing: taken for landing, taken in found.items() if abs(taken.late_us) > _enough(taken)}
        if worst < US_PER_TICK:
            break
        allowed = {**allowed, **{landing: _allowed(taken, before.get(landing)) for landing, taken in found.items()}}
        before = found
    return best, left


def _allowed(now: Taken, before: Taken | None) -> int:
    """What to plan with next: as long as it took; by the line through the last two once there are two (secant)."""
    slope = -1.0
    if before is not None and abs(now.planned_us - before.planned_us) >= US_PER_TICK:
        slope = (now.late_us - before.late_us) / (now.planned_us - before.planned_us)
        slope = min(max(slope, STEEPEST), FLATTEST)
    return round(now.planned_us - now.late_us / slope)


def _enough(taken: Taken) -> float:
    return max(ENOUGH_US, ENOUGH_SHARE * taken.found_us)
