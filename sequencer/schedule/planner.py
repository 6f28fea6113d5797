"""The checked show -> its plan: every routine laid out, from wherever its cylinders may stand when it starts.

A cylinder stands at the start where it rests, or where any routine that moves it may leave it. A routine that
can be started anew while it runs, or that makes an idle give way, may find it still on its way to the safe state.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from sequencer.findings import Finding, in_order
from sequencer.frozen import frozen
from sequencer.memo import Memo, noted
from sequencer.rig.cylinder import Cylinder, starts_at
from sequencer.rig.drive import Drive, Motion, ValveTo
from sequencer.rig.valve import power_off_way
from sequencer.schedule import faults
from sequencer.schedule.blocks import bodies, lay_block
from sequencer.schedule.body import Body
from sequencer.schedule.laid import Laid, Setting, Takes, line_later, moment_later
from sequencer.schedule.landings import Landing, settled
from sequencer.schedule.landings import Takes as TakesOnSupply
from sequencer.schedule.motions import Rig
from sequencer.schedule.plan import Line, Moment, Plan, PlannedRoutine
from sequencer.schedule.rules import LONGEST_RUN_US, LONGEST_TIME_US
from sequencer.schedule.standing import HOME, OUT, Standing, State, joined
from sequencer.schedule.supply import valve_of
from sequencer.show.model import Cue, Routine, Show

if TYPE_CHECKING:
    from sequencer.air.request import StrokeRequest
    from sequencer.air.stroke import Stroke

    Strokes = Callable[[StrokeRequest], Stroke]

MOST_TRIALS = 6
"""Places to set out from only grow from trial to trial, and there are few of them."""


def plan_show(
    show: Show, strokes: Strokes, clip_us: Mapping[tuple[str, str], int], memo: Memo | None = None,
    takes: TakesOnSupply | None = None,
) -> tuple[Plan, tuple[Finding, ...]]:
    """The times of every routine, and what cannot be done in time.

    `strokes` answers how long a motion takes, and raises ValueError where nothing is known of it; `clip_us` gives
    lengths of clips by (speaker, clip), and a clip that is missing there counts as no time at all. `takes` says how
    long landings take on a supply that gives way, by which they are then planned again. The plan is
    whole even where there are findings: what comes too early is then taken as soon as it can be.
    """
    memo = memo or Memo()
    # A token that stays the same object as long as all that a routine's times hang on does.
    token = noted(memo.about(show.parts, strokes), tuple(sorted(clip_us.items())), object)
    known = noted(memo.about(show.parts, strokes), "strokes", dict)
    laying = _Laying(Rig(show.parts, strokes, clip_us, _known=known), memo, token)
    entries, runs = _runs(laying, show)
    planned = [laying.landing(routine, entry, run, takes)
               for routine, entry, run in zip(show.routines, entries, runs, strict=True)]
    without_air = frozenset[str]().union(*(run.without_air for run in runs))
    findings = [*(finding for _, found in planned for finding in found),
                *(faults.no_air(show.parts[name]) for name in sorted(without_air))]
    return Plan(tuple(one for one, _ in planned), clip_us), in_order(findings)


@frozen
class _Run:
    """A routine laid out from one entry, and what was found on the way."""

    laid: Laid
    findings: tuple[Finding, ...]
    moved: frozenset[str]
    without_air: frozenset[str]


@frozen
class _Laying:
    """Lays out routines, and remembers what came of one with the same lines, rig and places to set out from."""

    rig: Rig
    memo: Memo
    token: object

    def run(self, routine: Routine, state: State, takes: Mapping[Landing, int] | None = None) -> _Run:
        """Where a cylinder stands matters only to a routine that can move it."""
        notes = self.memo.about(self.token, routine)
        cast = noted(notes, "cast", lambda: _cast(self.rig, routine.cues))
        entry = {name: state[name] for name in cast}
        rig = replace(self.rig, takes=takes) if takes else self.rig
        return noted(notes, (*entry.items(), *(takes or {}).items()), lambda: _run(rig, routine, entry))

    def landing(self, routine: Routine, state: State, run: _Run,
                takes: TakesOnSupply | None) -> tuple[PlannedRoutine, tuple[Finding, ...]]:
        """The routine planned so that what is to land does, on the supply that there is."""
        if takes is None or not any(isinstance(one.drive, Motion) and one.drive.lands for one in run.laid.moments):
            return self.planned(routine, run)
        best, left = settled(lambda allowed: self.run(routine, state, allowed),
                             lambda laid: self.planned(routine, laid)[0], takes)
        planned, findings = self.planned(routine, best)
        return planned, (*findings, *(faults.does_not_settle(planned, *one) for one in left.items()))

    def planned(self, routine: Routine, run: _Run) -> tuple[PlannedRoutine, tuple[Finding, ...]]:
        return noted(self.memo.about(routine, run), "planned", lambda: _planned(self.rig, routine, run))


def _planned(rig: Rig, routine: Routine, run: _Run) -> tuple[PlannedRoutine, tuple[Finding, ...]]:
    laid = run.laid
    findings = [*run.findings]
    moments, lines = _with_second_run(rig, routine, laid)
    if laid.takes.hi > LONGEST_RUN_US:
        findings.append(faults.routine_too_long(routine, laid.takes.hi))
    for what, us in (("a rest", routine.rest_us), ("a time between two runs", (routine.every_us or (0, 0))[1])):
        if us > LONGEST_TIME_US:
            findings.append(faults.routine_time_too_long(routine, what, us))
    leaves = {name: laid.state[name].position(0) for name in sorted(run.moved)}
    planned = PlannedRoutine(routine, laid.nodes, laid.takes.lo, laid.takes.hi, moments, lines, leaves)
    return planned, tuple(findings)


def _whole(setting: Setting, routine: Routine, entry: State) -> Laid:
    """A routine is over when its last line is done and all that it started has ended."""
    body = Body(setting, entry, lay_block, whole=True)
    body.lay(routine.cues)
    body.track.wait_out()
    return body.laid()


def _with_second_run(
    rig: Rig, routine: Routine, laid: Laid
) -> tuple[tuple[Moment, ...], tuple[Line, ...]]:
    """An idle runs over and over, so its moments come with those of a second run."""
    if not routine.idle:
        return laid.moments, laid.lines
    second = laid
    if any(moment.travels for moment in laid.moments):
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


def _runs(laying: _Laying, show: Show) -> tuple[list[State], list[_Run]]:
    """Every routine, from wherever cylinders may stand when it starts, and where that is."""
    rest = _at_rest(laying.rig)
    everywhere = dict(rest)
    for _ in range(MOST_TRIALS):
        runs = [laying.run(routine, everywhere) for routine in show.routines]
        grown = dict(everywhere)
        for run in runs:
            for name in run.moved:
                grown[name] = joined(grown[name], run.laid.state[name].settled())
        if grown == everywhere:
            break
        everywhere = grown
    entries: list[State] = [everywhere] * len(runs)
    moved = {routine.name: run.moved for routine, run in zip(show.routines, runs, strict=True)}
    idling = _idling(show, moved)
    for number, routine in enumerate(show.routines):
        cut = _cut(routine, moved, idling)
        if cut:
            entries[number] = _cut_entry(laying.rig, everywhere, rest, cut)
            runs[number] = laying.run(routine, entries[number])
    return entries, runs


def _run(rig: Rig, routine: Routine, entry: State) -> _Run:
    setting = Setting(replace(rig, without_air=set()), routine.name)
    laid = _whole(setting, routine, entry)
    moved = frozenset(travel.cylinder for moment in laid.moments for travel in moment.travels)
    return _Run(laid, tuple(setting.findings), moved, frozenset(setting.rig.without_air))


def _cast(rig: Rig, cues: Iterable[Cue]) -> tuple[str, ...]:
    """The cylinders that lines can move, in the order in which they are first told to."""
    names: dict[str, None] = {}
    for cue in cues:
        for action in cue.actions:
            for drive in action.drives:
                names.update(dict.fromkeys(_moved_by(rig, drive)))
        for body in bodies(cue):
            names.update(dict.fromkeys(_cast(rig, body)))
    return tuple(names)


def _moved_by(rig: Rig, drive: Drive) -> tuple[str, ...]:
    match drive:
        case Motion(cylinder=cylinder):
            valve = valve_of(rig.parts, cylinder)
            return rig.on(valve.name) if valve is not None else ()
        case ValveTo(valve=name):
            return rig.on(name)
    return ()


def _idling(show: Show, moved: Mapping[str, frozenset[str]]) -> dict[str | None, frozenset[str]]:
    """The cylinders that idles move, by the prop of the idle."""
    found: dict[str | None, frozenset[str]] = {}
    for routine in show.routines:
        if routine.idle:
            found[routine.prop] = found.get(routine.prop, frozenset()) | moved[routine.name]
    return found


def _cut(
    routine: Routine, moved: Mapping[str, frozenset[str]], idling: Mapping[str | None, frozenset[str]]
) -> frozenset[str]:
    """The cylinders that its start can cut short in a run of another, or of its own."""
    own = moved[routine.name] if routine.while_running == "restart" else frozenset[str]()
    if routine.idle:
        return own
    return own | idling.get(None, frozenset()) | idling.get(routine.prop, frozenset())


def _cut_entry(rig: Rig, everywhere: dict[str, Standing], rest: State, cut: frozenset[str]) -> State:
    """Adds the way back to the safe state."""
    return ChainMap({name: _on_its_way(rig, name, everywhere[name], rest[name]) for name in cut}, everywhere)


def _on_its_way(rig: Rig, name: str, standing: Standing, rest: Standing) -> Standing:
    (spot,) = rest.spots
    far = HOME if spot == OUT else OUT
    back = rig.stroke(name, far, "out" if spot == OUT else "home")
    return Standing(standing.spots | {spot}, standing.left | {far}, back.slowest_us if back else 0, way="unknown")
