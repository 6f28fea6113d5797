"""A plan -> which routines can run at the same time, as far as the way they are started decides it."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.checks.moments import exclusive, gap_between, sides_of
from sequencer.rig.drive import StartRoutine
from sequencer.schedule.plan import Moment, Plan, PlannedRoutine
from sequencer.show import Action

Starts = Mapping[str, tuple[tuple[PlannedRoutine, Moment], ...]]
"""By the name of a routine: which routines start it by a line, and at which moment of theirs."""
Writer = tuple[PlannedRoutine, list[Action]]
"""A routine and those of its actions that write the output in question."""


def starts_of(plan: Plan) -> Starts:
    found: dict[str, list[tuple[PlannedRoutine, Moment]]] = {}
    for planned in plan.routines:
        for moment in planned.moments:
            if isinstance(moment.drive, StartRoutine):
                found.setdefault(moment.drive.routine, []).append((planned, moment))
    return {name: tuple(moments) for name, moments in found.items()}


def can_overlap(starts: Starts, one: Writer, other: Writer) -> bool:
    """Whether the two can write the output while both run."""
    first, second = one[0], other[0]
    if first.routine.idle != second.routine.idle and _gives_way(first, second):
        return False
    for child, parent in ((one, other), (other, one)):
        if not child[0].routine.starts_by_itself:
            by = starts.get(child[0].routine.name, ())
            if not by:
                return False  # it never runs, which is a finding of its own
            if all(starter is parent[0] for starter, _ in by):
                return any(_beside(moment, child[0], parent) for _, moment in by)
    if not first.routine.starts_by_itself and not second.routine.starts_by_itself:
        return _started_beside(starts, first, second)
    return True


def _gives_way(one: PlannedRoutine, other: PlannedRoutine) -> bool:
    """An idle gives way to the scares of its prop; what belongs to no prop concerns every prop."""
    return None in (one.routine.prop, other.routine.prop) or one.routine.prop == other.routine.prop


def _beside(start: Moment, child: PlannedRoutine, parent: Writer) -> bool:
    """Whether what a scare does after it has started another falls into the other's run, or its own next run does."""
    planned, actions = parent
    again_us = planned.shortest_us + planned.routine.rest_us
    if planned.routine.starts_by_itself and start.latest_us + child.longest_us > again_us:
        return True
    written = [moment for moment in planned.moments if any(moment.action is action for action in actions)]
    return any(
        moment.ends_us[1] >= start.earliest_us and moment.earliest_us <= start.latest_us + child.longest_us
        for moment in written
    )


def _started_beside(starts: Starts, first: PlannedRoutine, second: PlannedRoutine) -> bool:
    """Two that are only started by lines: apart where one scare starts both, one after the other or either."""
    for starter, one in starts[first.routine.name]:
        sides = sides_of(starter.routine.cues)
        for other_starter, other in starts[second.routine.name]:
            if other_starter is not starter or one.again or other.again:
                return True
            if exclusive(sides.get(id(one.cue), frozenset()), sides.get(id(other.cue), frozenset())):
                continue
            early, late, runs = (one, other, first) if one.earliest_us <= other.earliest_us else (other, one, second)
            if gap_between(early, late)[0] < runs.longest_us:
                return True
    return False
