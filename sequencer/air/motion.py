"""A cylinder, commands to its valve and a time -> a `Trace`: when it starts, arrives and stops, how hard it hits, the
air it takes.

    trace = move(cylinder, ("E", "S"), [Command(0.0, "S", "E", True)], 1.5)
    trace.lead_s, trace.arrivals(0.5), trace.hits, trace.air_std_l

Nothing here knows rig parts or cues. Held against SciPy's stiff solvers on the same equations, not against hardware:
no published measurement with all its parameters was at hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from sequencer.air.cylinder import CylinderAir, faults_of
from sequencer.air.gas import scf_of_std_l, std_l_of_kg
from sequencer.air.integrate import RT0, TOLERANCE, Begun, Event, Hopping, Run, Until, held_kg, integrate
from sequencer.air.solver import cubic, share_at
from sequencer.air.spool import Command, Way, pieces, shifts
from sequencer.frozen import frozen

Flag = Literal["never moved", "never arrived", "stick-slip", "reversed midway"]
MANY_HOPS = 3
"""More stops and starts on the way than that are stick-slip: single hops and the end speed mean little then."""
PLACE = 1e-9
"""How near to an end, as a share of the stroke, a rod is there."""


@frozen
class Hit:
    """The rod meets an end: `out` or `home`, at a speed (m/s, negative towards home) that carries `energy_j`."""

    at_s: float
    end: Literal["out", "home"]
    v_m_s: float
    energy_j: float


@frozen
class Arrival:
    """The rod passes a place; `toward` +1 outward, -1 homeward."""

    at_s: float
    toward: int


@frozen
class Sample:
    """One instant: the rod's place and speed, absolute pressures in the chambers and at the valve's supply."""

    t_s: float
    x_m: float
    v_m_s: float
    cap_pa: float
    rod_pa: float
    supply_pa: float


@frozen
class Trace:
    """What happened from 0 to `until_s`. Times are from 0 as in the commands, but for `lead_s` and `travel_s`."""

    cylinder: CylinderAir
    first_command_s: float
    until_s: float
    run: Run
    ways: tuple[Way, Way] = ("E", "S")
    commands: tuple[Command, ...] = ()
    smoothed: bool = False

    @property
    def events(self) -> tuple[Event, ...]:
        return tuple(self.run.events)

    @property
    def first_motion_s(self) -> float | None:
        """When the rod first breaks away, or None."""
        return next((event.at_s for event in self.run.events if event.kind == "go"), None)

    @property
    def lead_s(self) -> float | None:
        """From the first command to the first motion."""
        return None if self.first_motion_s is None else self.first_motion_s - self.first_command_s

    @property
    def travel_s(self) -> float | None:
        """From the first motion to the first end met after it."""
        if self.first_motion_s is None or not self.hits:
            return None
        return self.hits[0].at_s - self.first_motion_s

    @property
    def hits(self) -> tuple[Hit, ...]:
        return tuple(Hit(event.at_s, "out" if event.toward > 0 else "home", event.v_m_s,
                         self.cylinder.mass_at(event.x_m) * event.v_m_s**2 / 2)
                     for event in self.run.events if event.kind == "hit")

    @property
    def stops(self) -> tuple[Event, ...]:
        """Where the rod comes to rest between its ends, if only for a moment: reversals and hops."""
        return tuple(event for event in self.run.events if event.kind == "stop")

    @property
    def hops(self) -> int:
        """How often it starts again the way it was going: stick-slip."""
        return sum(1 for one, then in pairwise(self.run.events)
                   if one.kind == "stop" and then.kind == "go" and one.toward == then.toward)

    @property
    def reversals_m(self) -> tuple[float, ...]:
        """Places between the ends at which it turned back."""
        return tuple(one.x_m for one, then in pairwise(self.run.events)
                     if one.kind == "stop" and then.kind == "go" and one.toward != then.toward)

    @property
    def final_m(self) -> float:
        return self.run.samples[-1][1]

    @property
    def fastest_m_s(self) -> float:
        return max(abs(sample[2]) for sample in self.run.samples)

    @property
    def peak_cap_pa(self) -> float:
        return self._peak("pA")

    @property
    def peak_rod_pa(self) -> float:
        return self._peak("pB")

    @property
    def least_supply_pa(self) -> float:
        """The lowest pressure at the valve."""
        column = self._column("pM")
        return self.cylinder.supply_pa if column is None else min(sample[column] for sample in self.run.samples)

    @property
    def air_std_l(self) -> float:
        """Free air drawn from the supply, less what flowed back, in litres at 20 C and 100 kPa."""
        return std_l_of_kg(self.run.supplied_kg)

    @property
    def air_scf(self) -> float:
        """The same in standard cubic feet; `gas` says at which conditions."""
        return scf_of_std_l(self.air_std_l)

    @property
    def exhausted_std_l(self) -> float:
        return std_l_of_kg(self.run.exhausted_kg)

    @property
    def flags(self) -> tuple[Flag, ...]:
        """What is odd about the motion."""
        found: list[Flag] = []
        if self.first_motion_s is None:
            found.append("never moved")
        elif not self.hits:
            found.append("never arrived")
        if self.hops > MANY_HOPS or self.smoothed:
            found.append("stick-slip")
        if self.reversals_m:
            found.append("reversed midway")
        return tuple(found)

    def arrivals(self, fraction: float) -> tuple[Arrival, ...]:
        """Every moment at which the rod passes a fraction of the stroke (0 home, 1 out), either way.

        An end counts when it is met, not when it is left.
        """
        low, high = self.cylinder.ends_m
        place = fraction * self.cylinder.stroke_m
        near = PLACE * self.cylinder.stroke_m
        if place <= low + near or place >= high - near:
            toward = -1 if place <= low + near else 1
            return tuple(Arrival(event.at_s, event.toward) for event in self.run.events
                         if event.kind == "hit" and event.toward == toward)
        return tuple(self._passing(place))

    def arrival_s(self, fraction: float, toward: int) -> float | None:
        """The first time the rod passes a fraction of the stroke that way, or None."""
        return next((found.at_s for found in self.arrivals(fraction) if found.toward == toward), None)

    def x_at(self, t_s: float) -> float:
        """Where the rod is at a time, on the cubic between the samples around it."""
        samples, low, high = self.run.samples, 0, len(self.run.samples) - 1
        if t_s <= samples[0][0] or t_s >= samples[-1][0]:
            return samples[0][1] if t_s <= samples[0][0] else samples[-1][1]
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if samples[middle][0] <= t_s else (low, middle)
        (t, x, v, *_), (tn, xn, vn, *_) = samples[low], samples[high]
        return cubic((x, v * (tn - t), xn, vn * (tn - t)), (t_s - t) / (tn - t)) if tn > t else xn

    def samples(self) -> Iterator[Sample]:
        """Every step of the solver, unevenly spaced; an open end has the pressure of the air outside."""
        columns = [self._column(name) for name in ("pA", "pB", "pM")]
        missing = (self.cylinder.ambient_pa, self.cylinder.ambient_pa, self.cylinder.supply_pa)
        for sample in self.run.samples:
            pressures = (gone if at is None else sample[at] for at, gone in zip(columns, missing, strict=True))
            yield Sample(sample[0], sample[1], sample[2], *pressures)

    def supplied(self) -> Iterator[tuple[float, float]]:
        """At every step what had been drawn from the supply by then, in kg."""
        cylinder, number = self.cylinder, 0
        pieces, samples = self.run.pieces, self.run.samples
        began = held_kg(cylinder, samples[0][3:])
        for sample in samples:
            t, held = sample[0], held_kg(cylinder, sample[3:])
            _, ways, before = pieces[number]
            yield t, before + sum(held[end] + held[end + 2] - began[end] - began[end + 2]
                                  for end in (0, 1) if ways[end] == "S")
            while number + 1 < len(pieces) and pieces[number + 1][0] <= t:
                number, began = number + 1, held

    def supplied_until(self, t_s: float) -> float:
        """What was drawn from the supply up to the last step before a time, in kg."""
        at = self.step_at(t_s)
        t = self.run.samples[at][0]
        begins, ways, before = next(piece for piece in reversed(self.run.pieces) if piece[0] <= t)
        old, new = (held_kg(self.cylinder, self.run.samples[step][3:]) for step in (self.step_at(begins), at))
        return before + sum(new[end] + new[end + 2] - old[end] - old[end + 2] for end in (0, 1) if ways[end] == "S")

    @property
    def to_come_kg(self) -> float:
        """What is still drawn after the last step until the air that is fed is as warm as outside, the rod at rest."""
        x, cylinder = self.final_m, self.cylinder
        ways, held = self.run.pieces[-1][1], held_kg(self.cylinder, self.run.samples[-1][3:])
        come = 0.0
        for end, (port, run) in enumerate(((cylinder.cap, x), (cylinder.rod, cylinder.stroke_m - x))):
            if ways[end] == "S" and not port.open:
                volume = port.dead_m3 + port.node_m3 + port.area_m2 * run
                come += cylinder.supply_pa * volume / RT0 - held[end]
        return come

    def step_at(self, t_s: float) -> int:
        """The last step at or before a time; the first one where there is none."""
        samples, low, high = self.run.samples, 0, len(self.run.samples)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if samples[middle][0] <= t_s else (low, middle)
        return low

    def begun_at(self, t_s: float) -> tuple[float, Begun]:
        """The last step at or before a time, and the cylinder there: what `move` goes on from."""
        at, x, v, *gases = self.run.samples[self.step_at(t_s)]
        ways, pending = self.ways, list[Command]()
        for begins, command in shifts(self.commands, self.cylinder.spool):
            if begins + self.cylinder.spool.shift_s <= at:
                ways = command.cap, command.rod
            elif command.at_s <= at:
                pending.append(replace(command, at_s=command.at_s - at))
        return at, Begun(x, v, tuple(gases), ways, tuple(pending))

    def _column(self, name: str) -> int | None:
        gases = self.run.make_up.gases()
        return 3 + gases.index(name) if name in gases else None

    def _peak(self, name: str) -> float:
        column = self._column(name)
        return self.cylinder.ambient_pa if column is None else max(sample[column] for sample in self.run.samples)

    def _passing(self, place: float) -> Iterator[Arrival]:
        samples = self.run.samples
        short = samples[0][1] < place
        for at, sample in enumerate(samples):
            if (sample[1] < place) == short:
                continue
            short = not short
            (t, x, v, *_), (tn, xn, vn, *_) = samples[at - 1], sample
            step = tn - t
            yield Arrival(t + share_at((x, v * step, xn, vn * step), place) * step, -1 if short else 1)


def move(cylinder: CylinderAir, before: tuple[Way, Way] | Begun, commands: Sequence[Command], until_s: float,
         tolerance: float = TOLERANCE, until: Until = "time") -> Trace:
    """Let the cylinder take the commands until a time, or as far as `until` says (see `integrate.Until`).

    `before` is what its cap and rod ends are connected to while it stands settled at `start_m`, or the state that
    `Trace.begun_at` gave. Raises ValueError for a cylinder that cannot be (see `faults_of`), commands out of order or
    an `until_s` that is not above 0, and `integrate.NotSettling` where the equations cannot be carried on.
    """
    faults = faults_of(cylinder)
    if faults:
        raise ValueError("; ".join(faults))
    if not 0 < until_s < math.inf:
        raise ValueError(f"a motion is reckoned for a time above 0, not {until_s} s")
    ways, pending = (before.ways, before.pending) if isinstance(before, Begun) else (before, ())
    every = (*pending, *commands)
    run = integrate(cylinder, before, pieces(ways, every, cylinder.spool, until_s), tolerance, until)
    return Trace(cylinder, commands[0].at_s if commands else 0.0, until_s, run, ways, every)


def move_smoothly(cylinder: CylinderAir, before: tuple[Way, Way] | Begun, commands: Sequence[Command], until_s: float,
                  tolerance: float = TOLERANCE, until: Until = "settled") -> Trace:
    """The same up to an end, where a rod that sticks and slips without end creeps instead: it takes no more to set out
    than to slide. Its hops make one another up, so that it arrives when it would (within 0.1 %, computed), but how hard
    is not known; `Trace.smoothed` says so.
    """
    try:
        return move(cylinder, before, commands, until_s, tolerance, until)
    except Hopping:
        friction = replace(cylinder.friction, static_n=cylinder.friction.sliding_n)
        trace = move(replace(cylinder, friction=friction), before, commands, until_s, tolerance, until)
        return replace(trace, smoothed=True)
