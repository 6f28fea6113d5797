"""A scare as planned and the supply that it runs on -> how long its landings take, beside what is planned.

The plan reckons each motion on air that does not give way, from where the plan says that the motions before have left
its rod. Here all motions of the scare run on the described supply together, each from what the one before has left in
its chambers, as in the dry run. What other scares draw meanwhile is not known and left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from sequencer.air.cylinder import CylinderAir
from sequencer.air.shared_run import PropTrace
from sequencer.air.solver import share_at
from sequencer.checks.air_calm import calm
from sequencer.checks.air_together import certain, run, supplies, with_next
from sequencer.checks.facts import Facts
from sequencer.dryrun.air_yard import AirYard
from sequencer.memo import noted
from sequencer.rig.drive import Motion
from sequencer.schedule.landings import Landing, Taken, landing_of
from sequencer.schedule.plan import Moment, PlannedRoutine, Travel

SAME_PLACE = 0.02
"""A motion that begins further from where it is planned to begin, as a share of the stroke, is another motion."""


def taken(facts: Facts, planned: PlannedRoutine) -> Mapping[Landing, Taken]:
    """By landing; those on a supply that hardly gives way are left out, and those that are cut short."""
    return noted(facts.memo.about(facts.yard, planned), "landings", partial(_taken, facts, planned))


def _taken(facts: Facts, planned: PlannedRoutine) -> Mapping[Landing, Taken]:
    found: dict[Landing, Taken] = {}
    for air in supplies(facts):
        landings = list(_landings(air, planned))
        if not landings or calm(facts.memo, air, [(moment, 0) for moment in certain(planned)]):
            continue
        trace = run(facts, air, [(planned, 0)])
        assert trace is not None
        for moment, travel, next_us in landings:
            prop = trace.props[air.cylinders.index(travel.cylinder)]
            ends_us = min(next_us, round(trace.until_s * 1e6))
            one, landing = _beside(prop, moment, travel, ends_us), landing_of(travel.cylinder, moment.action)
            if one is not None and (landing not in found or one.found_us > found[landing].found_us):
                found[landing] = one
    return found


def _landings(air: AirYard, planned: PlannedRoutine) -> Iterator[tuple[Moment, Travel, int]]:
    """Motions that are to land, at a known time after the start, and when the next command comes (us), before which
    they get there as planned."""
    for moment, travel, then in with_next(air, planned):
        drive = moment.drive
        lands = isinstance(drive, Motion) and drive.lands and drive.cylinder == travel.cylinder
        if lands and not moment.goes_back and travel.stroke is not None and travel.arrives_us[1] < then:
            yield moment, travel, then


def _beside(prop: PropTrace, moment: Moment, travel: Travel, ends_us: int) -> Taken | None:
    """How long it takes; None where it is another motion."""
    assert travel.stroke is not None
    told_s, sign = moment.earliest_us / 1e6, 1 if travel.toward == "out" else -1
    if abs(_share_at(prop, told_s) - travel.stroke.start) > SAME_PLACE:
        return None
    there = _arrives_s(prop, travel.until, sign, told_s)
    planned_us = travel.stroke.arrival_us(travel.until) + travel.later_us
    if there is None or there * 1e6 > ends_us:
        return Taken(planned_us, ends_us - moment.earliest_us, arrives=False)
    return Taken(planned_us, round((there - told_s) * 1e6))


def _share_at(prop: PropTrace, at_s: float) -> float:
    low, high = prop.cylinder.ends_m
    x = next((x for t, x, _ in reversed(prop.track) if t <= at_s), prop.track[0][1])
    return (x - low) / (high - low)


def _arrives_s(prop: PropTrace, until: float, sign: int, after_s: float) -> float | None:
    """When the rod first is at a share of its way, going that way."""
    if until in (0.0, 1.0):
        return prop.arrival_s(sign, after_s)
    place = _place(prop.cylinder, until)
    for (t, x, v), (tn, xn, vn) in zip(prop.track, prop.track[1:], strict=False):
        if tn > after_s and (x - place) * sign < 0 <= (xn - place) * sign:
            return t + share_at((x, v * (tn - t), xn, vn * (tn - t)), place) * (tn - t)
    return None


def _place(cylinder: CylinderAir, until: float) -> float:
    low, high = cylinder.ends_m
    return low + until * (high - low)
