"""The parts of one cylinder -> its strokes out and home as they are reckoned: times, forces, air, what limits them.

Both start from rest at the other end, with the valve settled the other way. SI; `pages` words it.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.air.carrying import EndRun, carrying_of, end_runs
from sequencer.air.from_rig import Described, Toward, cylinder_air, mechanism_of_parts, stroke_trace, unknowns_of
from sequencer.air.limits import Limit
from sequencer.air.margin import Margin, margin_of
from sequencer.air.motion import Flag, Trace
from sequencer.air.request import StrokeRequest, described_by
from sequencer.air.stroke import Stroke as Motion
from sequencer.air.stroke import predict_stroke
from sequencer.sizing.given import Given

WAYS: tuple[Toward, ...] = ("out", "home")
FIRST_S, LONGEST_S = 5.0, 60.0
"""How long a stroke is followed at first, and at the longest; a rod that is not there by then counts as never there."""
AFTER = 1.0
"""How long it is followed after it has arrived, s: what has come in cools meanwhile, and a little more follows."""


@dataclass(frozen=True, slots=True)
class Force:
    """What pushes one way and what stands against it where the least is left, in N. `friction_n`: of the cylinder, at
    rest."""

    weakest: Margin
    friction_n: float

    @property
    def push_n(self) -> float:
        """Of the air, or of spring and weight where these bring the rod home."""
        return self.weakest.air_n if self.weakest.area_m2 > 0 else self.weakest.helps_n

    @property
    def load_n(self) -> float:
        """Weight, springs and what rubs outside the cylinder; negative: they help the air."""
        against = self.weakest.against_n - self.friction_n
        return against - self.weakest.helps_n if self.weakest.area_m2 > 0 else against

    @property
    def margin(self) -> float:
        """What is left of all that goes along, as a share of it; negative: it does not move."""
        return self.weakest.share

    @property
    def least_pa_gauge(self) -> float | None:
        """The pressure at which it just moves; None where no air pushes this way."""
        return self.weakest.pressure_for(0.0)


@dataclass(frozen=True, slots=True)
class Stroke:
    """One way. Times are from the command on. `ends`: how the end of each part that the rod drives went."""

    toward: Toward
    motion: Motion
    trace: Trace
    force: Force
    limits: tuple[Limit, ...]
    ends: tuple[EndRun, ...] = ()

    @property
    def fastest_s(self) -> float | None:
        """Of a hundred such props ninety-five arrive between this and `slowest_s`; None where it never arrives."""
        return self.motion.fastest_us / 1e6 if self.motion.arrives else None

    @property
    def slowest_s(self) -> float | None:
        return self.motion.slowest_us / 1e6 if self.motion.arrives else None

    @property
    def stalls(self) -> bool:
        """Whether one of the hundred may not arrive at all, for what a builder cannot know."""
        return self.motion.stalls

    @property
    def sign(self) -> int:
        return 1 if self.toward == "out" else -1

    @property
    def lead_s(self) -> float | None:
        """From the command to the first motion; None where it never moves."""
        return self.trace.lead_s

    @property
    def arrives_s(self) -> float | None:
        """From the command to the end of the stroke; None where it never comes there."""
        return self.passes_s(1.0)

    @property
    def travel_s(self) -> float | None:
        return None if self.arrives_s is None or self.lead_s is None else self.arrives_s - self.lead_s

    def passes_s(self, share: float) -> float | None:
        """From the command until so much of the way (0 to 1) lies behind the rod. The way ends with the stroke, or
        before it where what the rod drives stands at its end."""
        cylinder = self.trace.cylinder
        low, high = cylinder.ends_m
        behind = (high - low) * share
        place = low + behind if self.toward == "out" else high - behind
        return self.trace.arrival_s(place / cylinder.stroke_m, self.sign)

    @property
    def end_speed_m_s(self) -> float | None:
        return abs(self.trace.hits[0].v_m_s) if self.arrives_s is not None else None

    @property
    def end_energy_j(self) -> float | None:
        return self.trace.hits[0].energy_j if self.arrives_s is not None else None

    @property
    def air_std_l(self) -> float:
        """Free air drawn until all has settled, litres at 20 C and 100 kPa."""
        return max(self.motion.free_air_std_l, 0.0)

    @property
    def flags(self) -> tuple[Flag, ...]:
        return self.trace.flags

    @property
    def reached_m(self) -> float:
        """How much of the way it made in the end."""
        low, high = self.trace.cylinder.ends_m
        return self.trace.final_m - low if self.toward == "out" else high - self.trace.final_m


@dataclass(frozen=True, slots=True)
class Strokes:
    """Both ways of one cylinder."""

    given: Given
    out: Stroke
    home: Stroke

    @property
    def both(self) -> tuple[Stroke, Stroke]:
        return self.out, self.home

    @property
    def cycle_air_std_l(self) -> float | None:
        """Free air of out and home together; None where the rod does not get to both ends."""
        whole = all(stroke.arrives_s is not None for stroke in self.both)
        return self.out.air_std_l + self.home.air_std_l if whole else None


def described(said: Given) -> Described:
    """As the air room takes it."""
    return described_by(_request(said, "out"))


def strokes(said: Given, with_limits: bool = True) -> Strokes:
    """Both ways, reckoned. Raises ValueError where there is no such cylinder, NotSettling where it cannot be done."""
    out, home = (_stroke(said, toward, with_limits) for toward in WAYS)
    return Strokes(said, out, home)


def _request(said: Given, toward: Toward) -> StrokeRequest:
    """A whole stroke from rest at the other end."""
    inner, length = (said.tube.inner_m, said.tube.length.si) if said.tube is not None else (0.0, 0.0)
    start = 0.0 if toward == "out" else 1.0
    return StrokeRequest(said.cylinder, said.valve, inner, length, said.regulator.si, start, toward, said.driven.parts)


def _stroke(said: Given, toward: Toward, with_limits: bool) -> Stroke:
    motion = predict_stroke(_request(said, toward))
    parts, unknowns = motion.described, motion.calibration.unknowns
    until = FIRST_S
    while True:
        trace = stroke_trace(parts, unknowns, toward, until)
        found = trace.arrival_s(1.0 if toward == "out" else 0.0, 1 if toward == "out" else -1)
        if until >= LONGEST_S or (found is not None and found + AFTER <= until):
            break
        until = min(found + AFTER if found is not None else until * 4, LONGEST_S)
    limits = motion.limits() if with_limits else ()
    return Stroke(toward, motion, trace, force_of(parts, toward), limits, _ends(said, trace))


def _ends(said: Given, trace: Trace) -> tuple[EndRun, ...]:
    """Nothing where the rod drives nothing."""
    if not said.driven.parts:
        return ()
    carrying = carrying_of(said.cylinder, said.driven.parts, mechanism_of_parts(said.cylinder, said.driven.parts))
    low, high = trace.cylinder.ends_m
    way = high - low
    knots = [(sample.t_s * 1e6, (sample.x_m - low) / way, sample.v_m_s / way) for sample in trace.samples()]
    return end_runs(carrying, knots[0][1], (trace.final_m - low) / way, knots)


def force_of(parts: Described, toward: Toward) -> Force:
    """Push, load and friction of one way, at its weakest place."""
    numbers = cylinder_air(parts, unknowns_of(parts.cylinder), toward)
    return Force(margin_of(numbers, toward), numbers.friction.static_n)
