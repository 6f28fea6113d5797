"""One motion of one cylinder: how long from the command to the first motion, to any place on the way, to the end.

A motion is found by the equations of its air and its rod (`motion`), from the parts that the rig names (`from_rig`).
A cylinder with times taken on the real prop is fitted to them first (`fit`), at the pressure at which they were taken.
How sure an arrival is comes from what a builder cannot know (`spread`). Nothing outside this room knows how.

`measured out 0.42 s` is the time from the command (the click of the valve) to the arrival, as it is read off a video,
of a whole stroke from rest. A motion may begin at rest, or while an earlier one is under way or its pressures are left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Literal

from sequencer.air.calibrate import Calibration, calibrate
from sequencer.air.course import Point, Rod, points_of
from sequencer.air.cylinder import CylinderAir
from sequencer.air.from_rig import Described, Toward, Unknowns, command_of, cylinder_air, energised, ways_of
from sequencer.air.gas import std_l_of_kg
from sequencer.air.integrate import TOLERANCE
from sequencer.air.limits import Limit, what_limits
from sequencer.air.motion import MANY_HOPS, PLACE, Flag, Hit, Trace, move_smoothly
from sequencer.air.request import StrokeRequest, described_by
from sequencer.air.spool import Command, Way, shifts
from sequencer.air.spread import TIMED, UNTIMED, Band, band_of

LONGEST_S = 90.0
"""A motion that has not arrived by then never does; the longest time an author can have measured is a minute."""
GRAIN_US = 100
"""Times of a stroke are told to 0.1 ms, since no motion is reckoned finer; its bounds to the ms, outward."""
LOOSE = 2e-3
"""Tolerance of the motions that only tell how much a spread moves the arrival: beside 1e-4 a band moves by 0.02 % in
the median, 0.4 % at worst."""
TO_END: dict[Toward, tuple[float, int]] = {"out": (1.0, 1), "home": (0.0, -1)}
"""The end that a motion goes to as a share of the way, and the sign of its speed."""


@dataclass(frozen=True, eq=False)
class Stroke:
    """A motion to the end of the stroke, in microseconds from the command to the valve.

    `start` is where the rod is at the command. `lead_us` is up to the first motion that way, `travel_us` from there to
    the end; `fastest_us` and `slowest_us` bound the arrival at the end in 95 of 100. A rod that never arrives has the
    time at which it comes to rest instead: see `flags`. `free_air_std_l` is the free air drawn from the command until
    all has settled, in litres at 20 C and 100 kPa. `basis`: fitted to times measured, or as described.
    """

    start: float
    toward: Toward
    lead_us: int
    travel_us: int
    free_air_std_l: float
    basis: Literal["measured", "described"]
    flags: tuple[Flag, ...]
    trace: Trace
    told_s: float
    request: StrokeRequest
    described: Described
    calibration: Calibration

    @cached_property
    def band(self) -> Band:
        """How sure the arrival is; no wider than itself where the rod does not arrive, or is there already."""
        if _arrival_s(self.trace, *TO_END[self.toward], self.told_s) is None:
            return Band(self.end_us / 1e6, self.end_us / 1e6, False)
        return _band(self)

    @property
    def fastest_us(self) -> int:
        return math.floor(self.band.fastest_s * 1e3) * 1000

    @property
    def slowest_us(self) -> int:
        return math.ceil(self.band.slowest_s * 1e3) * 1000

    @property
    def stalls(self) -> bool:
        """Whether it may not arrive at all, if what is not known is bad enough."""
        return self.band.stalls

    @property
    def end_us(self) -> int:
        """From the command to the end of the stroke."""
        return self.lead_us + self.travel_us

    @property
    def arrives(self) -> bool:
        return not {"never moved", "never arrived"} & {*self.flags}

    @property
    def points(self) -> tuple[Point, ...]:
        """The corners of the line that the rod draws from the command on: (us, share of the way)."""
        return points_of(Rod(self.trace.cylinder, self.described.valve), self.trace, self.told_s)

    @property
    def end_speed_m_s(self) -> float:
        """How fast the rod meets the end, 0 where it does not."""
        return 0.0 if not self._last_hits else abs(self._last_hits[-1].v_m_s)

    @property
    def end_energy_j(self) -> float:
        """What moves then carries so much energy; the push of the air is not in it."""
        return 0.0 if not self._last_hits else self._last_hits[-1].energy_j

    @property
    def peak_cap_pa(self) -> float:
        return self.trace.peak_cap_pa

    @property
    def peak_rod_pa(self) -> float:
        return self.trace.peak_rod_pa

    @property
    def settled_us(self) -> int:
        """When every pressure has settled: a command after that finds the cylinder at rest."""
        return round((self.trace.run.samples[-1][0] - self.told_s) * 1e6)

    def limits(self) -> tuple[Limit, ...]:
        """Which part, eased by a fifth, would make a whole stroke faster, and by how much; see `limits`."""
        return what_limits(self.described, self.calibration.unknowns, self.toward, LONGEST_S)

    def arrival_us(self, fraction: float) -> int:
        """From the command until the rod passes `fraction` of the way (0 home, 1 out).

        A place that is not on the way counts as passed when the motion begins, or when it ends.
        """
        if (fraction - self.start) * self._sign <= 2 * PLACE:
            return self.lead_us
        found = _arrival_s(self.trace, fraction, self._sign, self.told_s)
        if found is None:
            return self.end_us
        return min(max(_us(found - self.told_s), self.lead_us), self.end_us)

    def band_us(self, fraction: float) -> tuple[int, int]:
        """The fastest and the slowest arrival at `fraction`, in proportion to those at the end."""
        part = self.arrival_us(fraction) / max(self.end_us, 1)
        return round(self.fastest_us * part), round(self.slowest_us * part)

    @property
    def _sign(self) -> int:
        return TO_END[self.toward][1]

    @property
    def _last_hits(self) -> tuple[Hit, ...]:
        return tuple(hit for hit in self.trace.hits if hit.end == self.toward and hit.at_s >= self.told_s)


@lru_cache(maxsize=256)
def predict_stroke(request: StrokeRequest) -> Stroke:
    """The motion that the request describes.

    Raises ValueError where the pressure is not known and nothing was measured: a motion is not guessed; and where the
    parts make no cylinder that can be reckoned, with the sentence that says why.
    """
    described = described_by(request)
    calibration = calibrate(described)
    cylinder = cylinder_air(described, calibration.unknowns, "out")
    commands = _commands(request)
    told_s = commands[-1].at_s
    trace = _moved(request, cylinder, TOLERANCE, True)
    lead, end = _times(trace, request.toward, told_s)
    start = Rod(cylinder, request.valve).share(trace.x_at(told_s))
    air_std_l = std_l_of_kg(trace.run.supplied_kg + trace.to_come_kg - trace.supplied_until(told_s))
    basis: Literal["measured", "described"] = "described" if calibration.fit(request.toward) is None else "measured"
    return Stroke(start, request.toward, _us(lead), _us(end) - _us(lead), air_std_l, basis,
                  _flags(trace, request.toward, told_s), trace, told_s, request, described, calibration)


def _us(s: float) -> int:
    return round(s * 1e6 / GRAIN_US) * GRAIN_US


def _band(stroke: Stroke) -> Band:
    request, described, unknowns = stroke.request, stroke.described, stroke.calibration.unknowns

    def arrival(changed: Described, other: Unknowns) -> float:
        trace = stroke.trace
        if changed is not described or other is not unknowns:
            trace = _moved(request, cylinder_air(changed, other, "out"), LOOSE, False)
        found = _arrival_s(trace, *TO_END[request.toward], stroke.told_s)
        return math.inf if found is None else found - stroke.told_s

    spread = UNTIMED if stroke.calibration.fit(request.toward) is None else TIMED
    valve = request.valve
    answers = valve.responds.si if energised(valve, request.way) else valve.releases.si
    return band_of(described, unknowns, request.toward, spread, arrival, None if request.earlier else answers)


def _commands(request: StrokeRequest) -> tuple[Command, ...]:
    """All of them from the first on, which is at 0."""
    first = max((told.before_us for told in request.earlier), default=0)
    told = [(first - told.before_us, told.way) for told in request.earlier]
    return tuple(command_of(request.valve, way, us / 1e6) for us, way in (*told, (first, request.way)))


def _moved(request: StrokeRequest, cylinder: CylinderAir, tolerance: float, settled: bool) -> Trace:
    """The rod at rest at its start, then the commands; up to the end asked for, or until all has settled."""
    commands = _commands(request)
    standing, before = _standing(request, cylinder)
    return move_smoothly(standing, before, commands, commands[-1].at_s + LONGEST_S, tolerance,
                "settled" if settled else request.toward)


def _standing(request: StrokeRequest, cylinder: CylinderAir) -> tuple[CylinderAir, tuple[Way, Way]]:
    """The cylinder at rest before the first command, and what its valve connects then.

    At an end it is held there by air; part way by so much air behind the piston as its load asks for, and shut in.
    """
    low, high = cylinder.ends_m
    x = low + request.start * (high - low)
    standing = replace(cylinder, start_m=x)
    if request.start <= 0 or request.start >= 1:
        return standing, ways_of(request.valve, "out" if request.start >= 1 else "home")
    outward = cylinder.load.steady_n() + cylinder.load.rate_n_m * x
    outward -= cylinder.drives.load_at(x, 0.0)[2] if cylinder.drives is not None else 0.0
    ambient = cylinder.ambient_pa
    cap = replace(cylinder.cap, start_pa=ambient + max(-outward, 0.0) / cylinder.cap.area_m2)
    rod = replace(cylinder.rod, start_pa=ambient + max(outward, 0.0) / cylinder.rod.area_m2)
    return replace(standing, cap=cap, rod=rod), ("X", "X")


def _arrival_s(trace: Trace, fraction: float, sign: int, after_s: float) -> float | None:
    low, high = trace.cylinder.ends_m
    place = (low + fraction * (high - low)) / trace.cylinder.stroke_m
    return next((found.at_s for found in trace.arrivals(place) if found.toward == sign and found.at_s >= after_s), None)


def _times(trace: Trace, toward: Toward, told_s: float) -> tuple[float, float]:
    """From the command to the first motion that way and to the end of all motion, in s.

    A rod that is there already, or never sets out, has the time at which its valve is half over for both.
    """
    end, sign = TO_END[toward]
    events = [event for event in trace.events if event.at_s >= told_s]
    goes = next((event.at_s for event in events if event.kind == "go" and event.toward == sign), None)
    _, v, *_ = trace.run.samples[trace.step_at(told_s)][1:]
    if v * sign > 0:
        goes = told_s
    if goes is None:
        shifted = shifts(trace.commands, trace.cylinder.spool)[-1][0] + trace.cylinder.spool.shift_s / 2 - told_s
        return shifted, shifted
    there = _arrival_s(trace, end, sign, told_s)
    ends = events[-1].at_s if there is None and events else there
    return goes - told_s, max(ends or goes, goes) - told_s


def _flags(trace: Trace, toward: Toward, told_s: float) -> tuple[Flag, ...]:
    """What is odd about a motion after its command; where an earlier one is turned round is not."""
    _, sign = TO_END[toward]
    events = [event for event in trace.events if event.at_s >= told_s]
    low, high = trace.cylinder.ends_m
    there = abs(trace.final_m - (high if sign > 0 else low)) <= PLACE * (high - low)
    found: list[Flag] = []
    if not there:
        moved = any(event.kind == "go" and event.toward == sign for event in events)
        found.append("never arrived" if moved else "never moved")
    turns = [(one.toward, then.toward) for one, then in pairwise(events) if (one.kind, then.kind) == ("stop", "go")]
    if turns.count((sign, sign)) > MANY_HOPS or trace.smoothed:
        found.append("stick-slip")
    if (sign, -sign) in turns:
        found.append("reversed midway")
    return tuple(found)
