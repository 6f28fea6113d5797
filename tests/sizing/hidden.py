"""Props whose needles, seals, valve and flow are hidden, and the times that somebody would take on them with a film."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

from sequencer.air.fit import arrival_s
from sequencer.air.from_rig import Described, Toward, Unknowns
from sequencer.air.request import StrokeRequest, described_by
from sequencer.air.spread import TIMED, UNTIMED
from sequencer.phrases import PinName
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve
from sequencer.sizing.fitted import timed
from sequencer.units import read_quantity

LONGEST_S = 8.0
FILM_S = 1 / 30
"""A film has 30 pictures a second: either end of a time is anywhere within a picture."""
SIZES = (("3/4 in", "1/4 in"), ("1-1/16 in", "5/16 in"), ("1-1/2 in", "7/16 in"), ("2 in", "5/8 in"))


@dataclass(frozen=True)
class Hidden:
    """`request` has the times as they were taken; `true_s` are those of the prop, `evening_s` of another evening."""

    request: StrokeRequest
    unknowns: Unknowns
    true_s: dict[Toward, float]
    evening_s: dict[Toward, float]


def draw(rng: random.Random) -> Hidden:
    """A prop drawn at random that arrives both ways within `LONGEST_S`."""
    while True:
        request, unknowns = _request(rng), _unknowns(rng)
        parts = described_by(request)
        true = _times(parts, unknowns)
        evening = _times(*_other_evening(rng, parts, unknowns))
        if max(*true.values(), *evening.values()) < LONGEST_S:
            taken = {way: max(seconds + FILM_S * (rng.random() - rng.random()), 0.02) for way, seconds in true.items()}
            return Hidden(replace(request, cylinder=timed(request.cylinder, taken)), unknowns, true, evening)


def _request(rng: random.Random) -> StrokeRequest:
    bore, rod = rng.choice(SIZES)
    said = {"bore": bore, "rod": rod, "stroke": f"{rng.randint(3, 18)} in", "moves": f"{rng.randint(2, 20)} lb",
            "lifts": f"{rng.randint(-30, 60)} deg", "needle_out": f"{rng.randint(20, 90)} %",
            "needle_back": f"{rng.randint(20, 90)} %"}
    cylinder = Cylinder(name="ram", valve="shove", **{name: read_quantity(text) for name, text in said.items()})
    valve = Valve(name="shove", pin=PinName("box", "out1"), ports="5/2", unpowered="retracts")
    return StrokeRequest(cylinder, valve, rng.choice((0.0032, 0.0042, 0.0063)), rng.uniform(0.5, 6.0),
                         rng.uniform(45, 90) * 6894.757, 0.0, "out")


def _unknowns(rng: random.Random) -> Unknowns:
    """Needles anywhere, whatever the show says; the rest within the spreads of a prop that was not timed."""
    return Unknowns(rng.uniform(0.15, 0.8), rng.uniform(0.15, 0.8), _factor(rng, UNTIMED.friction),
                    _factor(rng, UNTIMED.delay), _factor(rng, UNTIMED.flow))


def _other_evening(rng: random.Random, parts: Described, unknowns: Unknowns) -> tuple[Described, Unknowns]:
    """The same prop when seals, valve and regulator are a little different, as far as a timed prop's spreads say."""
    pressure = parts.pressure_pa_gauge * _factor(rng, TIMED.pressure)
    return replace(parts, pressure_pa_gauge=pressure), replace(
        unknowns, friction=unknowns.friction * _factor(rng, TIMED.friction),
        delay=unknowns.delay * _factor(rng, TIMED.delay))


def _factor(rng: random.Random, spread: float) -> float:
    """Log-normal, 95 in 100 within the spread either way."""
    return math.exp(rng.gauss(0.0, math.log(spread) / 1.96))


def _times(parts: Described, unknowns: Unknowns) -> dict[Toward, float]:
    ways: tuple[Toward, ...] = ("out", "home")
    return {way: arrival_s(parts, unknowns, way, LONGEST_S) for way in ways}
