"""A plan -> which routines can run at the same time, as far as the way they are started decides it."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.checks.moments import exclusive, gap_between, sides_of
from sequencer.rig.drive import StartRoutine
from sequencer.schedule.plan import Moment, Plan, PlannedRoutine
from sequencer.show import Action

Starts = Mapping[str, tuple[tuple[PlannedRoutine, Moment], ...]]
"""By the name of a routine: which routines start it by a line, and at which moment of theirs."""
ENDLESS = 10**15
"""Longer than any run, in microseconds."""
Writer = tuple[PlannedRoutine, list[Action]]
"""A routine and those of its actions that write the output in question."""


def starts_of(plan: Plan) -> Starts:
    found: dict[str, list[tuple[PlannedRoutine, Moment]]] = {}
    for planned in plan.routines:
        for moment in planned.moments:
            if isinstance(moment.drive, StartRoutine):
                found.setdefault(moment.drive.routine, []).append((planned, moment))
    return {name: tuple(moments) for name, moments in found.items()}


def can_run(starts: Starts, one: Writer) -> bool:
    """Whether anything starts it; what nothing starts is a finding of its own."""
    return one[0].routine.starts_by_itself or bool(starts.get(one[0].routine.name))


def can_overlap(starts: Starts, one: Writer, other: Writer) -> bool:
    """Whether the two can write the output while both run."""
    first, second = one[0], other[0]
    if first.routine.idle != second.routine.idle and _gives_way(first, second):
        return False
    for child, parent in ((one, other), (other, one)):
        if not child[0].routine.starts_by_itself:
            by = starts.get(child[0].routine.name, ())
            if not by:
                return False
            if all(starter is parent[0] for starter, _ in by):
                return any(_beside(moment, child[0], parent) for _, moment in by)
    if not first.routine.starts_by_itself and not second.routine.starts_by_itself:
        return _started_beside(starts, first, second)
    return True


def _gives_way(one: PlannedRoutine, other: PlannedRoutine) -> bool:
    """An idle gives way to the scares of its prop; what belongs to no prop concerns every prop."""
    return None in (one.routine.prop, other.routine.prop) or one.routine.prop == other.routine.prop


def _again_us(planned: PlannedRoutine) -> int:
    """How soon after a start it can start anew."""
    routine = planned.routine
    return 0 if routine.while_running == "restart" else planned.shortest_us + routine.rest_us


def _ends_us(start: Moment, child: PlannedRoutine) -> int:
    """When a run that a line starts has ended at the latest, counted from the start of the one whose line it is.

    A start that is kept comes when the run before it is over, so then there is no telling.
    """
    return ENDLESS if child.routine.while_running == "once more" else start.latest_us + child.longest_us


def _beside(start: Moment, child: PlannedRoutine, parent: Writer) -> bool:
    """Whether a line that comes after a scare has started another, or its own next run, falls into the other's run."""
    planned, actions = parent
    ends_us = _ends_us(start, child)
    written = [moment for moment in planned.moments if any(moment.action is action for action in actions)]
    return ends_us > _again_us(planned) or any(
        moment.ends_us[1] >= start.earliest_us and moment.earliest_us <= ends_us for moment in written
    )


def _started_beside(starts: Starts, first: PlannedRoutine, second: PlannedRoutine) -> bool:
    """Two that are only started by lines: apart where one scare starts both, one after the other or either."""
    for starter, one in starts[first.routine.name]:
        for other_starter, other in starts[second.routine.name]:
            if other_starter is not starter or one.again or other.again:
                return True
            if _meet(starter, (one, first), (other, second)):
                return True
    return False


def _meet(starter: PlannedRoutine, one: tuple[Moment, PlannedRoutine], other: tuple[Moment, PlannedRoutine]) -> bool:
    """Whether two runs that lines of one scare start can meet, in one run of it or over two."""
    again_us = _again_us(starter)
    if _ends_us(*one) > again_us + other[0].earliest_us or _ends_us(*other) > again_us + one[0].earliest_us:
        return True
    sides = sides_of(starter.routine.cues)
    if exclusive(sides.get(id(one[0].cue), frozenset()), sides.get(id(other[0].cue), frozenset())):
        return False
    early, late = (one, other) if one[0].earliest_us <= other[0].earliest_us else (other, one)
    return gap_between(early[0], late[0])[0] < early[1].longest_us
