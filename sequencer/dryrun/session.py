"""A dry run while it goes on: step tables by the board's rules -> edges -> rods -> end sensors -> inputs.

The loop goes from one interesting tick to the next and is exact to the tick: an input that follows from a
motion is set at the tick at which the rod gets there. What comes out is the same as
stepping the rules tick by tick.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from sequencer.dryrun.air_yard import AirYard
from sequencer.dryrun.current import Fed, current_of
from sequencer.dryrun.meeting import met_in_event, met_in_trip
from sequencer.dryrun.motion import Movement, RodPlan
from sequencer.dryrun.moving import Moving, Sending
from sequencer.dryrun.readings import Readings
from sequencer.dryrun.spool import Spool, SpoolPlan
from sequencer.dryrun.timeline import Met, Sent, Series, Timeline, Yard
from sequencer.dryrun.triggers import Trigger
from sequencer.steps.events import (
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Ended,
    Event,
    Killed,
    OutputEdge,
    Started,
)
from sequencer.steps.interpreter import Taken
from sequencer.steps.program import InputKind, Limits, Program
from sequencer.steps.random32 import stir
from sequencer.steps.rules import Machine

Happening = Event | Movement | Met
"""What `advance` tells of: events of the rules; motions, as they are begun or, on a supply, as they are over; what was
met on the way."""


@dataclass(frozen=True, slots=True)
class Setup:
    """A show ready to be dry-run: its tables, who has which lane, what its coils move, its air and its current."""

    program: Program
    limits: Limits
    yard: Yard
    spools: tuple[SpoolPlan, ...] = ()
    rods: tuple[RodPlan, ...] = ()
    air: tuple[AirYard, ...] = ()
    fed: tuple[Fed, ...] = ()


class Session:
    """One dry run. Powered up and armed at tick 0, every sensor at rest; sensors are warm unless `cold`.

    `trail`: every step that is taken is kept, for those who want to show what a line of the text did. `curves`: so are
    the pressures in the cylinders, and the current is summed.
    """

    def __init__(self, setup: Setup, seed: int, cold: bool = False, trail: bool = False, curves: bool = False) -> None:
        self.setup = setup
        self.seed = seed
        self.cold = cold
        self._curves = curves
        self.edges: list[OutputEdge] = []
        self.events: list[Event] = []
        self.met: list[Met] = []
        self.triggers: list[Trigger] = []
        program = setup.program if cold else warmed(setup.program)
        self.sent: list[Sent] = []
        self._trail: list[Taken] | None = [] if trail else None
        self._machine = Machine(program, setup.limits, stir(seed), self._trail)
        self._inputs = Readings(program, self._machine)
        self._levels = [output.safe for output in program.outputs]
        self._spools = [Spool(plan) for plan in setup.spools]
        self._spool_of = {output: spool for spool in self._spools for output in spool.plan.outputs}
        self._moving = Moving(setup.rods, setup.air, self._inputs, curves)
        self._busy: set[tuple[str, int]] = set()
        self._fades_until = 0
        self._power_up()
        self.refused = self._machine.arm()

    @property
    def tick(self) -> int:
        return self._machine.tick

    @property
    def quiet(self) -> bool:
        """Whether nothing is under way: no scare, no motion, no clip, no fade, no trip. Idles do not
        count."""
        now = self.tick
        return not (self._busy or self._moving.under_way(now) or self._fades_until > now or self._inputs.held)

    def trip(self, index: int, ticks: int) -> None:
        """Somebody trips the sensor from the current tick on."""
        self.add_trigger(Trigger(self.setup.yard.inputs[index].sensor, self.tick, self.tick + ticks))

    def hold(self, index: int, held: bool) -> None:
        """Somebody stays on the sensor, or leaves it."""
        self._inputs.add(self.tick, index, held)

    def add_trigger(self, trigger: Trigger) -> None:
        """Trips a sensor at a tick that has not run yet."""
        index = next(one.index for one in self.setup.yard.inputs if one.sensor == trigger.sensor)
        self._inputs.add(trigger.begins, index, True)
        self._inputs.add(trigger.ends, index, False)
        self.triggers.append(trigger)
        self.met += met_in_trip(trigger, self.setup.program.inputs[index].settle)

    def stop(self) -> None:
        """Trips the show's stop input; where it has none, disarms the board."""
        for index, one in enumerate(self.setup.program.inputs):
            if one.kind is InputKind.STOP:
                self.trip(index, one.settle + 200)
                return
        self._machine.disarm()

    def arm(self) -> str | None:
        """Arms again after a stop; gives the reason of a refusal."""
        return self._machine.arm()

    def advance(self, to: int) -> tuple[Happening, ...]:
        """Runs every tick before `to`."""
        told: list[Happening] = []
        while self._machine.tick < to:
            until = min(to, self._inputs.apply())
            if self._moving.feeds_back:
                # A coil may switch in the next interesting tick; a rod answers a tick later at soonest.
                due = self._machine.next_due()
                until = until if due is None else min(until, max(due, self._machine.tick) + 1)
                until, moved = self._moving.carry_on(self._machine.tick, until)
                self._tell_moved(moved, told)
                until = min(until, self._inputs.apply())
            told += self._take(self._machine.advance(until))
        self._tell_moved(self._moving.catch_up(self._machine.tick), told)
        return tuple(told)

    def timeline(self, notes: Iterable[str] = ()) -> Timeline:
        """Everything up to the current tick."""
        drawn = self._moving.drawn(self.tick)
        return Timeline(
            yard=self.setup.yard, ticks=self.tick, seed=self.seed, random_state=self._machine.random_state,
            cold=self.cold, triggers=tuple(self.triggers), edges=tuple(self.edges), events=tuple(self.events),
            tracks=self._moving.tracks(self.tick),
            met=tuple(sorted(self.met, key=lambda one: one.tick)),
            air_std_l=sum(one.std_l for one in drawn), air_basis=self._moving.basis,
            tripped_at_start=self._inputs.tripped_at_start, notes=(*notes, *self._moving.notes),
            sent=tuple(self.sent), trail=tuple(self._trail or ()), series=self._series(), drawn=drawn,
        )  # fmt: skip

    def _series(self) -> tuple[Series, ...]:
        if not self._curves:
            return self._moving.series()
        current = (current_of(fed, self.setup.yard.outputs, self.edges, self.tick) for fed in self.setup.fed)
        return (*self._moving.series(), *current, *self._moving.pressures(self.tick))

    def _power_up(self) -> None:
        """Valves stand as the safe levels and their memory say; rods that they send elsewhere set out at
        once."""
        for rod in self._moving.rods:
            for index, out in rod.plan.ends:
                self._inputs.rests_on(index, rod.at_end(0, out))
        for spool in self._spools:
            spool.coils_at(0, *self._coils(spool))
            self._send(0, spool, told=[], switched_on=False)

    def _take(self, events: tuple[Event, ...]) -> list[Happening]:
        """Keeps what happened; coil edges of one tick act together, once all of them are known."""
        told: list[Happening] = []
        switched: dict[int, Spool] = {}
        went_on: set[int] = set()
        tick = -1
        for event in events:
            if event.tick != tick:
                self._switch(tick, switched, went_on, told)
                tick = event.tick
            told.append(event)
            if isinstance(event, OutputEdge):
                self._take_edge(event, switched, went_on)
            else:
                self.events.append(event)
                self._follow(event)
                self._tell_met(met_in_event(event, self.setup.yard), told)
        self._switch(tick, switched, went_on, told)
        return told

    def _take_edge(self, edge: OutputEdge, switched: dict[int, Spool], went_on: set[int]) -> None:
        self.edges.append(edge)
        self._fades_until = max(self._fades_until, edge.tick + edge.over)
        spool = self._spool_of.get(edge.output)
        if spool is not None:
            switched[id(spool)] = spool
            if edge.level and not self._levels[edge.output]:
                went_on.add(id(spool))
        self._levels[edge.output] = edge.level

    def _switch(
        self, tick: int, switched: dict[int, Spool], went_on: set[int], told: list[Happening]
    ) -> None:
        for spool in switched.values():
            spool.coils_at(tick, *self._coils(spool))
            self._send(tick, spool, told, switched_on=id(spool) in went_on)
        switched.clear()
        went_on.clear()

    def _send(self, tick: int, spool: Spool, told: list[Happening], switched_on: bool) -> None:
        """Passes a valve's way on to its rods, and what that makes their sensors see later on to the
        inputs."""
        self.sent.append(Sent(tick, spool.plan.name, spool.way))
        self._tell_moved(self._moving.send(Sending(tick, spool, self._coils(spool), switched_on)), told)

    def _tell_moved(self, moved: Iterable[Met | Movement], told: list[Happening]) -> None:
        for one in moved:
            told.append(one)
            if isinstance(one, Met):
                self.met.append(one)

    def _tell_met(self, met: Iterable[Met], told: list[Happening]) -> None:
        for one in met:
            self.met.append(one)
            told.append(one)

    def _coils(self, spool: Spool) -> tuple[bool, bool]:
        back = spool.plan.back
        return self._levels[spool.plan.coil] > 0, back is not None and self._levels[back] > 0

    def _follow(self, event: Event) -> None:
        match event:
            case Started(_, routine, _, _) if not self.setup.program.routines[routine].idle:
                self._busy.add(("routine", routine))
            case Ended(_, routine) | Killed(_, routine, _):
                self._busy.discard(("routine", routine))
            case ClipStarted(_, clip):
                self._busy.add(("clip", clip))
            case ClipEnded(_, clip) | ClipSilenced(_, clip):
                self._busy.discard(("clip", clip))


def warmed(program: Program) -> Program:
    """The program as it runs once every sensor's warm-up is over."""
    return replace(program, inputs=tuple(replace(one, warm_up=0) for one in program.inputs))
