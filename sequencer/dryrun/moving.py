"""Every rod of a dry run: those that hang on a described compressor, moved together, and those that move by themselves.

A rod whose air comes from nowhere that is described moves as `motion` says, on a supply that never gives way. What a
command to a valve and the passing of time bring about is told here in one way for both; the board is the session's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sequencer.air.carrying import end_runs
from sequencer.air.gas import std_l_of_kg
from sequencer.dryrun.air_yard import AirYard
from sequencer.dryrun.coupled import AirRun, CoupledRod
from sequencer.dryrun.meeting import met_in_command, met_in_cut
from sequencer.dryrun.motion import Movement, Rod, RodPlan
from sequencer.dryrun.pressures import chamber_series
from sequencer.dryrun.readings import Readings
from sequencer.dryrun.spool import Spool
from sequencer.dryrun.timeline import Drawn, Met, Series, Track

ALONE = "drawn by the cylinders, each at the pressure of its regulator"
GRAIN_US = 100
TOGETHER = "drawn by the cylinders and blowing valves from the supply that the show describes"


@dataclass(frozen=True, slots=True)
class Sending:
    """A valve at a tick: its spool, whether its coils are on, and whether one has just come on."""

    tick: int
    spool: Spool
    coils: tuple[bool, bool]
    switched_on: bool


class Moving:
    """The rods of `plans`; those of a cylinder that one of the `yards` has are coupled. `pressures`: those in their
    chambers are kept."""

    def __init__(self, plans: Sequence[RodPlan], yards: Sequence[AirYard], inputs: Readings, pressures: bool) -> None:
        on_supply = {name for yard in yards for name in yard.cylinders}
        self._inputs = inputs
        self._air = [AirRun(yard, {plan.name: plan for plan in plans}, pressures) for yard in yards]
        self._alone = [Rod(plan) for plan in plans if plan.name not in on_supply]
        self._coupled = [rod for air in self._air for rod in air.rods]
        self._order = [plan.name for plan in plans]
        self.feeds_back = any(plan.ends for plan in plans)

    @property
    def rods(self) -> list[Rod | CoupledRod]:
        """In the order of the plans."""
        named: dict[str, Rod | CoupledRod] = {rod.plan.name: rod for rod in (*self._alone, *self._coupled)}
        return [named[name] for name in self._order]

    def under_way(self, tick: int) -> bool:
        """Whether any rod moves after this tick."""
        return any(rod.points[-1][0] > tick * 1000 for rod in self._alone) or any(air.moves for air in self._air)

    def send(self, sending: Sending) -> Iterator[Met | Movement]:
        """A valve goes a way: what is met, and motions of rods that move by themselves, as they are begun."""
        tick, spool = sending.tick, sending.spool
        for number, rod in enumerate(self._alone):
            if rod.plan.valve != spool.plan.name:
                continue
            there, begun = _stands_where_sent(rod, tick, spool.way), len(rod.movements)
            cut = rod.command(tick, spool.way)
            yield from met_in_command(tick, rod.plan, spool, sending.coils, there if sending.switched_on else None)
            if cut is not None:
                yield met_in_cut(tick, cut)
            yield from rod.movements[begun:]
            self._inputs.foresee(number, rod.changes_after(tick))
        for air in self._air:
            on_valve = [rod for rod in air.rods if rod.plan.valve == spool.plan.name]
            there_now = [_stands_where_sent(rod, tick, spool.way) for rod in on_valve]
            air.command(tick, spool.plan.name, spool.way)
            for coupled, there in zip(on_valve, there_now, strict=True):
                yield from met_in_command(tick, coupled.plan, spool, sending.coils,
                                          there if sending.switched_on else None)

    def carry_on(self, tick: int, until: int) -> tuple[int, list[Met | Movement]]:
        """Move the coupled rods ahead of the board, before it runs the ticks from `tick` up to, not including, `until`.

        Gives up to where the board may run, which is less where a sensor waits for a rod, and what has come of it.
        """
        told: list[Met | Movement] = []
        for air in self._air:
            if not air.watched:
                continue
            until = min(until, air.horizon(tick) + 1)
            told += self._carry(air, until - 1)
        return until, told

    def catch_up(self, tick: int) -> list[Met | Movement]:
        """Carry all air on to a tick; what has come of it."""
        return [one for air in self._air if air.air.now_s < tick / 1000 for one in self._carry(air, tick)]

    def _carry(self, air: AirRun, tick: int) -> Iterator[Met | Movement]:
        for rod, changes, movements in air.carry_on(tick):
            if changes:
                self._inputs.foresee_more(len(self._alone) + self._coupled.index(rod), changes)
            for movement in movements:
                if movement.cut:
                    yield met_in_cut(rod.told_at(movement.ends), movement)
                yield movement

    def tracks(self, tick: int) -> tuple[Track, ...]:
        return tuple(_track(rod, tick) for rod in self.rods)

    def drawn(self, tick: int) -> tuple[Drawn, ...]:
        """Who drew how much free air."""
        alone = [Drawn(rod.plan.name, rod.air_until_std_l(tick * 1000)) for rod in self._alone]
        return (*alone, *(one for air in self._air for one in air.drawn()))

    def series(self) -> tuple[Series, ...]:
        return tuple(one for air in self._air for one in air.series())

    def pressures(self, tick: int) -> Iterator[Series]:
        """Those in the chambers of every rod; of a rod on a supply only if they were kept from the start."""
        for rod in self.rods:
            yield from chamber_series(rod.plan, rod.pressures(tick * 1000), tick * 1000)

    @property
    def basis(self) -> str:
        """How the air was reckoned."""
        if not self._air:
            return ALONE
        return TOGETHER if not self._alone else f"{TOGETHER}, others each at the pressure of its regulator"

    @property
    def notes(self) -> tuple[str, ...]:
        """What people should know of the supply."""
        notes = []
        for air in self._air:
            lost = [at for at in air.air.unsettled]
            if lost:
                notes.append(f"Pressures on {air.plan.compressor.name} could not be agreed on in {len(lost)} of "
                             f"{air.air.windows} windows, first at {lost[0]:.2f} s; trust its pressures less there.")
            if air.air.tank.short_kg > 0:
                notes.append(f"The tank of {air.plan.compressor.name} runs empty: "
                             f"{std_l_of_kg(air.air.tank.short_kg):.3g} L of free air are not there.")
        return tuple(notes)


def _stands_where_sent(rod: Rod | CoupledRod, tick: int, way: str) -> bool:
    now = tick * 1000
    if rod.moves_after(now):
        return False
    return (way == "out" and rod.at_end(now, out=True)) or (way == "home" and rod.at_end(now, out=False))


def _track(rod: Rod | CoupledRod, ticks: int) -> Track:
    end = ticks * 1000
    points = [point for point in rod.points if point[0] <= end]
    if points[-1][0] < end:
        points.append((end, rod.position(end)))
    movements = tuple(_with_ends(rod, movement) for movement in rod.movements_until(ticks))
    return Track(rod.plan.name, rod.plan.valve, tuple(points), movements)


def _with_ends(rod: Rod | CoupledRod, movement: Movement) -> Movement:
    """With how the ends of what the rod carries went; a tick is rounded up, so the motion begins in the one before."""
    carrying = rod.plan.carrying
    if carrying is None:
        return movement
    knots = tuple(rod.knots((movement.leaves - 1) * 1000, movement.ends * 1000 + GRAIN_US))
    return replace(movement, carries=end_runs(carrying, movement.start, movement.reached, knots))
