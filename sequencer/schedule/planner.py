"""The checked show -> its plan: every routine laid out, from wherever its cylinders may stand when it starts.

A cylinder stands at the start where it rests, or where any routine that moves it may leave it. A routine that
can be started anew while it runs, or that makes an idle give way, may find it still on its way to the safe state.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sequencer.air.stroke import Stroke, StrokeRequest
from sequencer.findings import Finding, in_order
from sequencer.rig.cylinder import Cylinder, starts_at
from sequencer.rig.valve import power_off_way
from sequencer.schedule import faults
from sequencer.schedule.blocks import lay_block
from sequencer.schedule.body import Body
from sequencer.schedule.laid import Laid, Setting, Takes, line_later, moment_later
from sequencer.schedule.motions import Rig
from sequencer.schedule.plan import Line, Moment, Plan, PlannedRoutine
from sequencer.schedule.rules import LONGEST_RUN_US, LONGEST_TIME_US
from sequencer.schedule.standing import HOME, OUT, Standing, State, joined
from sequencer.schedule.supply import valve_of
from sequencer.show.model import Routine, Show

Strokes = Callable[[StrokeRequest], Stroke]
MOST_TRIALS = 6
"""Places to set out from only grow from trial to trial, and there are few of them."""


def plan_show(
    show: Show, strokes: Strokes, clip_us: Mapping[tuple[str, str], int]
) -> tuple[Plan, tuple[Finding, ...]]:
    """The times of every routine, and what cannot be done in time.

    `strokes` answers how long a motion takes, and raises ValueError where nothing is known of it; `clip_us` gives
    lengths of clips by (speaker, clip), and a clip that is missing there counts as no time at all. The plan is
    whole even where there are findings: what comes too early is then taken as soon as it can be.
    """
    rig = Rig(show.parts, strokes, clip_us)
    rest = _at_rest(rig)
    entries = _entries(rig, show, rest)
    findings: list[Finding] = []
    planned = tuple(_planned(rig, routine, entries[routine.name], findings) for routine in show.routines)
    findings += (faults.no_air(show.parts[name]) for name in sorted(rig.without_air))
    return Plan(planned, clip_us), in_order(findings)


def _planned(rig: Rig, routine: Routine, entry: State, findings: list[Finding]) -> PlannedRoutine:
    laid = _whole(Setting(rig, routine.name, findings), routine, entry)
    moments, lines = _with_second_run(rig, routine, laid)
    if laid.takes.hi > LONGEST_RUN_US:
        findings.append(faults.routine_too_long(routine, laid.takes.hi))
    for what, us in (("a rest", routine.rest_us), ("a time between two runs", (routine.every_us or (0, 0))[1])):
        if us > LONGEST_TIME_US:
            findings.append(faults.routine_time_too_long(routine, what, us))
    moved = {travel.cylinder for moment in moments for travel in moment.travels}
    leaves = {name: laid.state[name].position(0) for name in sorted(moved)}
    return PlannedRoutine(routine, laid.nodes, laid.takes.lo, laid.takes.hi, moments, lines, leaves)


def _whole(setting: Setting, routine: Routine, entry: State) -> Laid:
    """A routine is over when its last line is done and all that it started has ended."""
    body = Body(setting, entry, lay_block)
    body.lay(routine.cues)
    body.track.wait_out()
    return body.laid()


def _with_second_run(
    rig: Rig, routine: Routine, laid: Laid
) -> tuple[tuple[Moment, ...], tuple[Line, ...]]:
    """An idle runs over and over, so its moments come with those of a second run."""
    if not routine.idle:
        return laid.moments, laid.lines
    second = _whole(Setting(rig, routine.name), routine, laid.state)
    takes: Takes = laid.takes
    by = (takes.lo, takes.hi)
    return (
        laid.moments + tuple(moment_later(one, by, again=True) for one in second.moments),
        laid.lines + tuple(line_later(one, by, again=True) for one in second.lines),
    )


def _at_rest(rig: Rig) -> dict[str, Standing]:
    """Every cylinder where it stands before anything has run."""
    state = {}
    for name in rig.cylinders():
        part, valve = rig.parts[name].part, valve_of(rig.parts, name)
        assert isinstance(part, Cylinder)
        end = starts_at(part, valve) if valve is not None else "home"
        way = power_off_way(valve) if valve is not None else "free"
        state[name] = Standing(frozenset({OUT if end == "out" else HOME}), way=end if way == end else "other")
    return state


def _entries(rig: Rig, show: Show, rest: dict[str, Standing]) -> dict[str, State]:
    """Where cylinders may stand when each routine starts."""
    everywhere = dict(rest)
    for _ in range(MOST_TRIALS):
        ends = [_whole(Setting(rig, one.name), one, everywhere).state for one in show.routines]
        grown = dict(everywhere)
        for state in ends:
            for name, standing in state.items():
                grown[name] = joined(grown[name], standing.settled())
        if grown == everywhere:
            break
        everywhere = grown
    moved = {one.name: _moved_by(rig, one, everywhere) for one in show.routines}
    return {one.name: _entry(rig, show, one, everywhere, rest, moved) for one in show.routines}


def _moved_by(rig: Rig, routine: Routine, state: State) -> frozenset[str]:
    laid = _whole(Setting(rig, routine.name), routine, state)
    return frozenset(travel.cylinder for moment in laid.moments for travel in moment.travels)


def _entry(
    rig: Rig, show: Show, routine: Routine, everywhere: State, rest: State, moved: Mapping[str, frozenset[str]]
) -> State:
    """Adds the way back to the safe state where a start can cut a run short."""
    cut: set[str] = set(moved[routine.name]) if routine.while_running == "restart" else set()
    if not routine.idle:
        for other in show.routines:
            if other.idle and (other.prop is None or other.prop == routine.prop):
                cut |= moved[other.name]
    state = dict(everywhere)
    for name in cut:
        state[name] = _on_its_way(rig, name, everywhere[name], rest[name])
    return state


def _on_its_way(rig: Rig, name: str, standing: Standing, rest: Standing) -> Standing:
    (spot,) = rest.spots
    far = HOME if spot == OUT else OUT
    back = rig.stroke(name, far, "out" if spot == OUT else "home")
    return Standing(standing.spots | {spot}, standing.left | {far}, back.slowest_us if back else 0, way="unknown")
