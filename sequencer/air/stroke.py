"""One motion of one cylinder: how long from the command to the first motion, to any place on the way, to the end.

A cylinder with times measured on the real prop moves as measured; any other one at the steady speed that its valve,
tube and flow control allow, which is an estimate and says so. What comes before (start-up, building up pressure) is
in the width of the band. Nothing outside this file knows how a motion is found.

`measured out 0.42 s` is the time from the command (the click of the valve) to the arrival, as it is read off a
video. A part of a stroke takes its share of what remains of it after the valve has responded.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sequencer.air import formulas as air
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.drive import SetLevel
from sequencer.rig.valve import Valve, coils

Toward = Literal["out", "home"]

ESTIMATE_BAND = 0.30
"""With unknown needle and friction an arrival is off by 15 to 30 % (computed with the air model's prototype)."""
MEASURED_BAND = 0.10
"""Assumed: a film at 30 pictures a second is 33 ms coarse, and a prop is warmer or better fed on another evening."""
FLOW_CONTROL_FREE = 1.2e-8
"""C of a 1/4 in flow control in its free direction, m3/(s Pa). Assumed."""
FLOW_CONTROL_FULL = 0.7e-8
"""C of its needle when fully open. Assumed; the needle is what an estimate hangs on most."""
FRICTION_BAR = 0.30
"""Friction of seals as a pressure on the bore, bar: 5 % of the force at 6 bar. From memory; sources say 5 to 25 %."""
SLOWEST_M_S = 0.01
"""An estimate never goes below it; so slow a cylinder sticks and slips (assumed)."""


@dataclass(frozen=True, slots=True)
class StrokeRequest:
    """What a motion hangs on. `start` is the fraction of the stroke (0 home, 1 out) where the rod stands at rest.

    A `tube_length_m` of 0 is a valve on the cylinder itself; `tube_inner_m` then means nothing.
    `pressure_pa_gauge` None: not known, which only a cylinder with measured times can do without.
    """

    cylinder: Cylinder
    valve: Valve
    tube_inner_m: float
    tube_length_m: float
    pressure_pa_gauge: float | None
    start: float
    toward: Toward


@dataclass(frozen=True, slots=True)
class Stroke:
    """A motion from `start` to the end of the stroke, in microseconds from the command to the valve.

    `lead_us` is up to the first motion, `travel_us` from there to the end; `fastest_us` and `slowest_us` bound the
    arrival at the end. `free_air_std_l` is the free air drawn, in litres at 20 C and 100 kPa.
    """

    start: float
    toward: Toward
    lead_us: int
    travel_us: int
    fastest_us: int
    slowest_us: int
    free_air_std_l: float
    basis: Literal["measured", "estimate"]
    says: str

    @property
    def end_us(self) -> int:
        """From the command to the end of the stroke."""
        return self.lead_us + self.travel_us

    def arrival_us(self, fraction: float) -> int:
        """From the command until the rod passes `fraction` of the stroke (0 home, 1 out).

        A place that is not on the way counts as passed when the motion begins, or when it ends.
        """
        return self.lead_us + round(self.travel_us * self._share(fraction))

    def band_us(self, fraction: float) -> tuple[int, int]:
        """The fastest and the slowest arrival at `fraction`, in proportion to those at the end."""
        part = self.arrival_us(fraction) / max(self.end_us, 1)
        return round(self.fastest_us * part), round(self.slowest_us * part)

    def _share(self, fraction: float) -> float:
        end = 1.0 if self.toward == "out" else 0.0
        if math.isclose(self.start, end, abs_tol=1e-9):
            return 1.0
        return min(max((fraction - self.start) / (end - self.start), 0.0), 1.0)


def predict_stroke(request: StrokeRequest) -> Stroke:
    """The motion that the request describes.

    Raises ValueError where the pressure is not known and nothing was measured: a motion is not guessed.
    """
    way = abs((1.0 if request.toward == "out" else 0.0) - request.start)
    lead_s = _lead_s(request)
    measured = measured_s(request.cylinder, request.toward)
    if measured is not None:
        lead_s = min(lead_s, measured / 2)
        travel_s, band, basis = (measured - lead_s) * way, MEASURED_BAND, "measured"
        says = f"as measured: {measured:.3g} s for the whole stroke {_word(request.toward)}"
    elif request.pressure_pa_gauge is None:
        raise ValueError(f"neither the pressure at {request.cylinder.name} nor its times are known")
    else:
        speed, why = steady_speed(request)
        travel_s, band, basis = request.cylinder.stroke.si * way / speed, ESTIMATE_BAND, "estimate"
        says = f"an estimate, +-{ESTIMATE_BAND:.0%}: {speed:.2f} m/s {why}"
    lead, travel = round(lead_s * 1e6), round(travel_s * 1e6)
    return Stroke(
        request.start, request.toward, lead, travel, round((lead + travel) * (1 - band)),
        round((lead + travel) * (1 + band)), free_air_std_l(request), basis, says,
    )


def measured_s(cylinder: Cylinder, toward: Toward) -> float | None:
    """The time the builder took, command to arrival, or None."""
    measured = cylinder.measured_out if toward == "out" else cylinder.measured_back
    return None if measured is None else measured.si


def steady_speed(request: StrokeRequest) -> tuple[float, str]:
    """Steady speed in m/s and what it is limited by: the air let out, or the air that comes in."""
    area_in, area_out = _areas(request.cylinder, request.toward)
    opening = (request.cylinder.needle_out if request.toward == "out" else request.cylinder.needle_back).si
    valve = request.valve
    tube = ([air.tube_conductance(request.tube_inner_m, request.tube_length_m)]
            if request.tube_length_m > 0 else [])
    out = air.conductance_in_series([
        (valve.exhaust or valve.conductance).si, *tube,
        min(FLOW_CONTROL_FREE, air.needle_conductance(FLOW_CONTROL_FULL, opening)),
    ])
    speed_out = air.speed_metered_out(out, area_out)
    if _returns_by_itself(request):
        return max(speed_out, SLOWEST_M_S), "as fast as its air leaves"
    feed = air.conductance_in_series([valve.conductance.si, *tube, FLOW_CONTROL_FREE])
    assert request.pressure_pa_gauge is not None
    supply = request.pressure_pa_gauge + air.P_ATMOSPHERE_PA
    needed = air.P_ATMOSPHERE_PA + max(_load_n(request), 0.0) / area_in
    speed_in = air.speed_metered_in(feed, area_in, supply, needed, valve.critical_ratio.si)
    if speed_in <= SLOWEST_M_S:
        return SLOWEST_M_S, "at best: the air can hardly move the load"
    if request.cylinder.acting == "single" or speed_in < speed_out:
        return speed_in, "as fast as air comes in"
    return max(speed_out, SLOWEST_M_S), "as fast as air is let out"


def free_air_std_l(request: StrokeRequest) -> float:
    """Free air in litres (20 C, 100 kPa) that the stroke draws: swept volume, tube and dead volume at the port."""
    if request.pressure_pa_gauge is None or _returns_by_itself(request):
        return 0.0
    area, _ = _areas(request.cylinder, request.toward)
    way = abs((1.0 if request.toward == "out" else 0.0) - request.start)
    dead = math.pi / 4 * request.tube_inner_m**2 * request.tube_length_m
    if request.cylinder.dead_volume is not None:
        dead += request.cylinder.dead_volume.si
    swept = area * request.cylinder.stroke.si * way
    return air.free_air_of_filling_m3(swept, dead, request.pressure_pa_gauge) * 1000


def _returns_by_itself(request: StrokeRequest) -> bool:
    return request.cylinder.acting == "single" and request.toward == "home"


def _areas(cylinder: Cylinder, toward: Toward) -> tuple[float, float]:
    """The area that air pushes on, and the area that pushes air out, in m2."""
    cap = math.pi / 4 * cylinder.bore.si**2
    ring = cap - math.pi / 4 * cylinder.rod.si**2
    if cylinder.acting == "single":
        return cap, cap
    return (cap, ring) if toward == "out" else (ring, cap)


def _load_n(request: StrokeRequest) -> float:
    """Force against the motion: the share of the weight, and the friction of the seals."""
    cylinder = request.cylinder
    cap = math.pi / 4 * cylinder.bore.si**2
    friction = cylinder.friction.si if cylinder.friction is not None else FRICTION_BAR * 1e5 * cap
    weight = (cylinder.moves.si if cylinder.moves is not None else 0.0) * air.GRAVITY_M_S2
    return friction + weight * math.sin(cylinder.lifts.si) * (1 if request.toward == "out" else -1)


def _lead_s(request: StrokeRequest) -> float:
    """From the command until the valve is half over, and the pressure wave of a long tube."""
    valve = request.valve
    last = coils(valve, request.toward)[-1]
    energised = not (isinstance(last, SetLevel) and last.level == 0.0)
    wave = request.tube_length_m / air.SOUND_M_S if request.tube_length_m >= air.LONG_TUBE_M else 0.0
    return (valve.responds if energised else valve.releases).si + valve.shift.si / 2 + wave


def _word(toward: Toward) -> str:
    return "out" if toward == "out" else "back"
