"""The cue lines of one block -> the block laid out in time. What nests in a line is laid out by `blocks`.

Here stands what a time means: since the start of the block, after the line above, when that has ended, when a
sensor says so; and how far before its line a landing switches its valve.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sequencer.findings import Finding
from sequencer.rig.drive import Drive, Motion, ValveTo
from sequencer.schedule import faults
from sequencer.schedule.laid import Laid, Setting, line_later, moment_later, travel_later, window_later
from sequencer.schedule.landings import landing_of
from sequencer.schedule.motions import (
    Awaited,
    Started,
    direction,
    lead_of,
    start_motion,
    start_other,
    start_valve,
)
from sequencer.schedule.nodes import Await, Do, Framed, Node, Until
from sequencer.schedule.plan import US_PER_TICK, Line, Moment, ticks_of
from sequencer.schedule.rules import LONGEST_TIME_US
from sequencer.schedule.standing import State
from sequencer.schedule.track import Track, longest
from sequencer.show.model import Action, After, At, Cue, WhenSensor
from sequencer.units import say_time

if TYPE_CHECKING:
    from sequencer.air.from_rig import Toward

LayBlock = Callable[[Setting, Cue, State], Laid]


@dataclass(slots=True)
class Above:
    """What the line above started: when it has ended by time (an offset), and the sensors to ask."""

    is_block: bool = False
    ends: int = 0
    awaited: list[Awaited] = field(default_factory=list)
    cylinders: list[str] = field(default_factory=list)


class Body:
    """Lays out the lines of one block, one after the other."""

    def __init__(self, setting: Setting, state: State, lay_block: LayBlock, whole: bool = False) -> None:
        """`whole`: these are the lines of the routine itself, so their times are those of the routine."""
        self.setting = setting
        self.whole = whole
        self.track = Track(dict(state))
        self.above = Above()
        self.moments: list[Moment] = []
        self.lines: list[Line] = []
        self._lay_block = lay_block

    def lay(self, cues: tuple[Cue, ...]) -> None:
        """Lays out the lines; the track is finished afterwards."""
        for cue in cues:
            self._reach(cue)
            if cue.block is not None:
                self._block(cue)
            else:
                self._actions(cue)
        self.track.finish()

    def laid(self) -> Laid:
        """The outcome, as far as the track has come."""
        track = self.track
        return Laid(tuple(track.nodes), track.takes(), track.state_at_end(), track.rest(),
                    tuple(self.moments), tuple(self.lines), track.framed)

    # When a line is due

    def _reach(self, cue: Cue) -> None:
        """Brings the track to the time of a line: sets its `off`."""
        when = cue.when
        match when:
            case At(us=us):
                self.track.to_base()
                self._due_at(cue, self._held(cue, "a time", us))
            case After(least_us=least, most_us=most, then=then):
                start = self._then() if then else self.track.off
                self._held(cue, "a wait", most)
                if least > most:
                    self._found(faults.reversed_wait(cue, least, most))
                    least, most = most, least
                if least == most:
                    self._due_at(cue, start + least)
                else:
                    self._due_at_random(cue, start, least, most)
            case WhenSensor():
                self._when_sensor(cue, when)

    def _due_at(self, cue: Cue, due: int) -> None:
        track = self.track
        if ticks_of(due) < ticks_of(track.ready()):
            self._late(cue, due)
            due = track.ready()
        track.go_to(due)

    def _late(self, cue: Cue, due: int) -> None:
        track = self.track
        hi = track.ready()
        lo = max(track.off - track.spread, track.ended.lo if track.due is None else hi - track.spread)
        why = track.floor_why if hi == track.floor else ()
        self._found(faults.passed(cue, due - track.off, (lo - track.off, hi - track.off), why))

    def _due_at_random(self, cue: Cue, start: int, least: int, most: int) -> None:
        track = self.track
        if ticks_of(start + least) < ticks_of(track.ready()):
            self._late(cue, start + least)
        begin = max(start, track.ready())
        self._cut_short(begin)
        track.random(begin, max(start + least, begin), max(start + most, begin), cue)

    def _when_sensor(self, cue: Cue, when: WhenSensor) -> None:
        track, name = self.track, when.edge.sensor
        if when.bound_us <= 0:
            self._found(faults.no_bound(cue, name, f"`when {name} {_says(when.edge.trips)}`"))
        bound = max(ticks_of(self._held(cue, "a bound", when.bound_us)), 1)
        if track.due is None and self.above.is_block:
            track.from_block_end()
        begin = track.ready()
        self._cut_short(begin)
        track.settle(begin)
        track.nodes.append(Await(name, when.edge.trips, bound, cue))
        start = ticks_of(begin) * US_PER_TICK
        track.new_anchor((start, start + bound * US_PER_TICK),
                         (f"when line {cue.span.line} waits in vain for {name} for its whole bound",))

    def _then(self) -> int:
        """When all that the line above started has ended, as an offset."""
        track, above = self.track, self.above
        if above.is_block:
            if track.due is None:
                rest = longest(track.block_pending)
                track.from_block_end()
                return rest
            return max(track.floor, above.ends)
        if not above.awaited:
            return max(track.off, above.ends)
        return self._then_sensors(max(track.ready(), 0))

    def _then_sensors(self, begin: int) -> int:
        track, above = self.track, self.above
        self._cut_short(begin)
        track.settle(begin)
        cue = self.lines[-1].cue
        nodes: list[Node] = []
        for awaited in above.awaited:
            sensor, tripped = awaited.sensor, True
            nodes.append(Await(sensor, tripped, max(-(-awaited.bound_us // US_PER_TICK), 1), cue, fault=True))
        most = sum(node.bound for node in nodes if isinstance(node, Await))
        start, least = ticks_of(begin), ticks_of(above.ends)
        if least > start:
            nodes = [Framed((*nodes, Until(least - start)), cue)]
        track.nodes += nodes
        late = f"when {above.awaited[0].sensor} does not report the end of the motion in line {cue.span.line}"
        track.new_anchor((max(start, least) * US_PER_TICK, max(start + most, least) * US_PER_TICK), (late,))
        for name in above.cylinders:
            standing = track.state[name]
            track.state[name] = replace(standing, rests_us=min(standing.rests_us, 0), due_us=min(standing.due_us, 0))
        return 0

    # What a line does

    def _block(self, cue: Cue) -> None:
        track = self.track
        self._cut_short(track.off)
        track.settle(track.off)
        start = ticks_of(track.off) * US_PER_TICK
        laid = self._lay_block(self.setting, cue, {n: s.later(start) for n, s in track.state.items()})
        window = track.window(start)
        ends = (window[0] + laid.takes.lo, window[1] + laid.takes.hi + laid.pending_us)
        self.lines.append(Line(cue, window, ends))
        self.lines += [line_later(line, window) for line in laid.lines]
        self.moments += [moment_later(moment, window) for moment in laid.moments]
        track.add_block(laid.nodes, laid.takes, laid.state, laid.pending)
        self.above = Above(is_block=True, ends=track.floor + laid.pending_us)

    def _actions(self, cue: Cue) -> None:
        track = self.track
        self.above = Above(ends=track.off)
        first = len(self.moments)
        for action in cue.actions:
            for drive in action.drives:
                for started in self._started(cue, action, drive):
                    self._take(cue, action, started)
        ends = [moment.ends_us for moment in self.moments[first:]]
        window = track.window(track.off)
        self.lines.append(Line(cue, window, (max((e[0] for e in ends), default=window[0]),
                                             max((e[1] for e in ends), default=window[1]))))

    def _started(self, cue: Cue, action: Action, drive: Drive) -> tuple[Started, ...]:
        rig, track = self.setting.rig, self.track
        match drive:
            case Motion():
                return self._motion(cue, action, drive)
            case ValveTo():
                self._held(cue, "a time", drive.for_us or 0)
                return start_valve(rig, track.state, drive, track.off, track.off)
            case _:
                started = start_other(rig, drive, track.off)
                self._held(cue, "a time", started.ends_us[1] - started.at_us)
                return (started,)

    def _motion(self, cue: Cue, action: Action, motion: Motion) -> tuple[Started, ...]:
        rig, track = self.setting.rig, self.track
        standing = track.state.get(motion.cylinder)
        if standing is None:
            return ()
        self._held(cue, "a time", motion.for_us or 0)
        toward = direction(rig, motion, standing, track.off)
        if toward is None:
            self._found(faults.unknown_place(cue, action))
            toward = "out"
        if motion.for_us is not None and toward == "home" and standing.way != "out" and not rig.stops(motion):
            self._found(faults.returns_elsewhere(cue, action))
        takes = rig.takes.get(landing_of(motion.cylinder, action)) if motion.lands else None
        at = self._valve_time(cue, action, motion, toward) if motion.lands else track.off
        return start_motion(rig, track.state, motion, toward, (at, track.off), takes)

    def _valve_time(self, cue: Cue, action: Action, motion: Motion, toward: str) -> int:
        """When the valve of a landing is switched; what comes too early is said, and then done as soon as can be."""
        track = self.track
        standing = track.state[motion.cylinder]
        way: Toward = "out" if toward == "out" else "home"
        first = max(standing.told_us, standing.due_us) if standing.landed else standing.told_us
        soonest = max(first, track.floor)
        lead = self.setting.rig.takes.get(landing_of(motion.cylinder, action))
        if lead is None:
            lead = lead_of(self.setting.rig, motion, way, standing, track.off, soonest)
        at = track.off - lead
        if ticks_of(at) < ticks_of(first):
            self._found(faults.too_close(cue, action, lead, first - at, standing.landed))
        elif ticks_of(at) < ticks_of(track.floor):
            whole = self.setting.rig.stroke(motion.cylinder, 0.0 if way == "out" else 1.0, way)
            self._found(faults.too_early(cue, action, lead, track.floor - at, whole))
        return max(at, soonest)

    def _take(self, cue: Cue, action: Action, started: Started) -> None:
        """Notes one thing started: its step, its moment, and what the line below may have to wait for."""
        track, above = self.track, self.above
        if started.commands:
            track.put(started.at_us, Do(started.commands, action, cue, self._note(action, started)))
        for travel in started.travels:
            track.pending[travel.cylinder] = max(track.state[travel.cylinder].rests_us, started.ends_us[1])
        for command in started.commands:
            where = getattr(command, "pin", None) or getattr(command, "speaker", None)
            itself = command == started.drive
            track.pending[where] = started.ends_us[1] if itself else started.at_us + getattr(command, "for_us", 0)
        if started.awaited is not None:
            above.awaited.append(started.awaited)
            above.cylinders += [travel.cylinder for travel in started.travels]
        else:
            above.ends = max(above.ends, started.ends_us[1])
        self.moments.append(self._moment(cue, action, started))

    def _note(self, action: Action, started: Started) -> str:
        words = faults.asked(action)
        if started.goes_back:
            return f"{words}: goes back"
        lead = self.track.off - started.at_us
        if lead <= 0:
            return words
        if not self.whole or (self.track.base.lo, self.track.base.hi) != (0, 0):
            return f"{words} {say_time(lead)} later"
        return f"{words} at {say_time(self.track.off)}{_band(started)}"

    def _moment(self, cue: Cue, action: Action, started: Started) -> Moment:
        track, travels = self.track, started.travels
        by = (track.base.lo, track.base.hi)
        if by != (0, 0):
            travels = tuple(travel_later(one, by) for one in travels)
        return Moment(
            self.setting.routine, cue, action, started.drive, *track.window(started.at_us), track.window(track.off),
            window_later(started.ends_us, by), started.commands, travels=travels, goes_back=started.goes_back,
        )

    def _cut_short(self, at: int) -> None:
        """Says which commands are to go back only after a step at which the board can do nothing else."""
        for tick, do in self.track.beyond(at):
            self._found(faults.cut_by_wait(do.cue, do.action, tick * US_PER_TICK - at))

    def _held(self, cue: Cue, what: str, us: int) -> int:
        if us > LONGEST_TIME_US:
            self._found(faults.too_long(cue, what, us))
            return LONGEST_TIME_US
        return us

    def _found(self, finding: Finding) -> None:
        self.setting.findings.append(finding)


def _band(started: Started) -> str:
    """How sure the landing is: from the fastest to the slowest arrival."""
    if not started.travels:
        return ""
    travel = started.travels[0]
    soonest, latest = travel.arrives_us
    guess = ", not timed" if travel.stroke is not None and travel.stroke.basis == "described" else ""
    return f", {say_time(soonest)} to {say_time(latest)}{guess}"


def _says(trips: bool) -> str:
    return "trips" if trips else "clears"
