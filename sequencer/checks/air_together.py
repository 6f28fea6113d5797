"""Scares as commands to the valves on one supply -> how their rods go there, beside how each goes on air of its own.

Only what every run of a scare does is taken, at its earliest; what hangs on a sensor, a draw or a count is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial

from sequencer.air.from_rig import ValveWay, command_of
from sequencer.air.gas import P_ANR_PA
from sequencer.air.shared_run import NodeTrace, SharedTrace, shared_run
from sequencer.air.spool import Command
from sequencer.checks.facts import Facts
from sequencer.checks.wires import Yard
from sequencer.dryrun.air_yard import AirYard, air_yards
from sequencer.dryrun.spool import way_without_power
from sequencer.frozen import frozen
from sequencer.memo import noted
from sequencer.rig.cylinder import starts_at
from sequencer.rig.drive import ValveTo
from sequencer.rig.valve import Valve
from sequencer.schedule.plan import Moment, PlannedRoutine, Travel

MOST_US, AFTER_S = 20_000_000, 0.5
"""Only the first so much of a scare is looked at, and a motion is given so much longer than its slowest to arrive."""


@frozen
class Late:
    """A rod that arrives after its slowest time on air of its own; `arrives_us` None: not at all."""

    cylinder: str
    moment: Moment
    travel: Travel
    arrives_us: int | None
    from_us: int


def supplies(facts: Facts) -> tuple[AirYard, ...]:
    """What hangs on each compressor. None where a part cannot be reckoned, which is said elsewhere."""
    return noted(facts.memo.about(facts.yard), "supplies", partial(_supplies, facts.yard))


def _supplies(yard: Yard) -> tuple[AirYard, ...]:
    ways: dict[str, ValveWay] = {}
    for placed in yard.of_kind("valve"):
        assert isinstance(placed.part, Valve)
        # Without power a 5/3 valve stands in its centre, whatever its cylinder does.
        ways[placed.part.name] = way_without_power(placed.part) if placed.part.ports == "5/3" else "home"
    for placed in yard.of_kind("cylinder"):
        valve = yard.parts.get(placed.part.valve)
        if valve is not None and valve.part.ports != "5/3" and starts_at(placed.part, valve.part) == "out":
            ways[valve.part.name] = "out"
    try:
        return air_yards(yard.parts, ways)
    except ValueError:
        return ()


def run(facts: Facts, air: AirYard, started: Sequence[tuple[PlannedRoutine, int]]) -> SharedTrace | None:
    """All of them, each started at its time (us); None where they ask nothing of this supply.

    Kept between checks for as long as the same valves are told the same at the same times.
    """
    told = tuple(one for planned, from_us in started for one in _commands(air, planned, from_us))
    if not told:
        return None
    until_s = max(from_us + _last_us(air, planned) for planned, from_us in started) / 1e6 + AFTER_S
    return noted(facts.memo.about(air), (told, until_s), partial(shared_run, told, air.yard, until_s))


def late(air: AirYard, trace: SharedTrace, started: Iterable[tuple[PlannedRoutine, int]]) -> Iterator[Late]:
    """Motions that come in too late in a run, in the order of the scares."""
    number = {name: at for at, name in enumerate(air.cylinders)}
    for planned, from_us in started:
        for moment, travel in _whole(air, planned):
            sign = 1 if travel.toward == "out" else -1
            found = trace.props[number[travel.cylinder]].arrival_s(sign, (from_us + moment.earliest_us) / 1e6)
            slowest = from_us + moment.earliest_us + travel.arrives_us[1] - moment.latest_us
            if found is None or found * 1e6 > slowest:
                yield Late(travel.cylinder, moment, travel, None if found is None else round(found * 1e6), from_us)


def recovers(air: AirYard, planned: PlannedRoutine, period_us: int, runs: int) -> bool:
    """Whether the supply is sure to be as it was before each of so many runs of a scare, one period after another.

    What one run takes has to come through the narrowest way between its last motion and the first of the next. A volume
    that is filled through (C, b) from any pressure is full after pi / 2 of the time that the choked flow C p would take
    (ISO 6358 integrated: linear while choked, then a sine), so at half of C p all of it has come. And the tank, were
    its compressor not running, has to stay above what every regulator is set to and above where it cuts in.
    """
    litres = _litres(air, planned)
    gap_s = (period_us - _last_us(air, planned) + _first_us(air, planned)) / 1e6
    return litres / 1000 <= _gives_m3_s(air) * gap_s and _tank_left_pa(air, runs * litres) >= _tank_needed_pa(air)


def _litres(air: AirYard, planned: PlannedRoutine) -> float:
    """Free air that a run takes at most; a valve that blows counts as endless."""
    if any(isinstance(moment.drive, ValveTo) and moment.drive.valve in air.valves for moment in planned.moments):
        return math.inf
    return sum(travel.stroke.free_air_std_l for moment in planned.moments for travel in moment.travels
               if travel.cylinder in air.cylinders and travel.stroke is not None)


def _gives_m3_s(air: AirYard) -> float:
    """What the narrowest way of a supply passes of free air at half its pressure: C times that, as when choked."""
    supply = air.yard.supply
    return min(node.way.c_m3_s_pa for node in supply.nodes) * supply.tank.start_pa / 2


def _tank_left_pa(air: AirYard, litres: float) -> float:
    tank = air.yard.supply.tank
    return tank.start_pa - litres / 1000 * P_ANR_PA / tank.volume_m3


def _tank_needed_pa(air: AirYard) -> float:
    supply = air.yard.supply
    set_to = [node.set_pa + node.band_pa for node in supply.nodes if node.set_pa is not None]
    cuts_in = [supply.tank.compressor.cut_in_pa] if supply.tank.compressor is not None else []
    return max([*set_to, *cuts_in], default=0.0)


def lowest(trace: SharedTrace) -> NodeTrace:
    """The node that falls the furthest below where it stood, as a share of it."""
    return min(trace.nodes, key=lambda node: node.least.pressure_pa / node.least.from_pa)


def _commands(air: AirYard, planned: PlannedRoutine, from_us: int) -> Iterator[tuple[int, Command]]:
    number = {name: at for at, name in enumerate(air.cylinders)}
    blows: Mapping[str, int] = {name: len(air.cylinders) + at for at, name in enumerate(air.valves)}
    for moment in certain(planned):
        at_s = (from_us + moment.earliest_us) / 1e6
        for travel in moment.travels:
            if travel.cylinder in number:
                at = number[travel.cylinder]
                yield at, command_of(air.driven_by[at], _way(travel, air.driven_by[at]), at_s)
        if isinstance(moment.drive, ValveTo) and moment.drive.valve in blows:
            opens = (moment.drive.way == "open") != moment.goes_back
            yield blows[moment.drive.valve], Command(at_s, "S" if opens else "X", "X", opens)


def _way(travel: Travel, valve: Valve) -> ValveWay:
    """What the valve does for a motion, or to stop one."""
    if travel.toward == "stops":
        return "vented" if valve.centre == "exhausted" else "holds"
    return travel.toward if travel.stroke is None else travel.stroke.request.way


def certain(planned: PlannedRoutine) -> Iterator[Moment]:
    """What every run does within the time that is looked at."""
    return (moment for moment in planned.moments if not moment.path and moment.earliest_us < MOST_US)


def with_next(air: AirYard, planned: PlannedRoutine) -> Iterator[tuple[Moment, Travel, int]]:
    """Each certain motion, by cylinder and time, and when the next command to the same cylinder comes (us)."""
    told: dict[str, list[tuple[Moment, Travel]]] = {}
    for moment in certain(planned):
        for travel in moment.travels:
            if travel.cylinder in air.cylinders:
                told.setdefault(travel.cylinder, []).append((moment, travel))
    for ordered in told.values():
        ordered.sort(key=lambda one: one[0].earliest_us)
        for at, (moment, travel) in enumerate(ordered):
            yield moment, travel, ordered[at + 1][0].earliest_us if at + 1 < len(ordered) else 2 * MOST_US


def _whole(air: AirYard, planned: PlannedRoutine) -> Iterator[tuple[Moment, Travel]]:
    """Motions that end at an end before the next command to the same cylinder comes."""
    for moment, travel, then in with_next(air, planned):
        arrives = moment.earliest_us + travel.arrives_us[1] - moment.latest_us
        there = travel.before == travel.toward or travel.toward == "stops" or travel.before in ("moving", "between")
        if not there and travel.until in (0.0, 1.0) and arrives < then:
            yield moment, travel


def _last_us(air: AirYard, planned: PlannedRoutine) -> int:
    return max((moment.earliest_us + travel.arrives_us[1] - moment.latest_us
                for moment in certain(planned) for travel in moment.travels if travel.cylinder in air.cylinders),
               default=0)


def _first_us(air: AirYard, planned: PlannedRoutine) -> int:
    return min((moment.earliest_us for moment in certain(planned) for travel in moment.travels
                if travel.cylinder in air.cylinders), default=0)
