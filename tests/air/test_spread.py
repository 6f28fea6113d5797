"""The band against what it stands for: everything that is not known drawn at random, and who lands in it counted."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from sequencer.air.fit import arrival_s
from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns, energised, unknowns_of
from sequencer.air.spread import TIMED, UNTIMED, Spread, _moved, band_of
from tests.air.test_fit import described

DRAWS = 400
PROPS: dict[str, tuple[Described, Toward]] = {
    "open": (described(), "out"),
    "metered": (described(needle_out="30 %"), "out"),
    "nearly closed": (described(needle_back="15 %"), "home"),
    "lifting": (described(moves="30 lb", lifts="90 deg", needle_out="60 %"), "out"),
    "long tube": (replace(described(), tube_length_m=10.0), "home"),
    "spring home": (described(acting="single", returned_by="spring", preload="90 N", rate="0.3 N/mm", moves="1 kg",
                              lifts="0 deg"), "home"),
}
PARTS = 1.959964
"""Half the width in which 95 in 100 of a normal law lie, in standard deviations (any table of it)."""


def drawn(rng: random.Random, prop: Described, at: Unknowns, toward: Toward,
          spread: Spread) -> tuple[Described, Unknowns]:
    """One prop of those that the description may stand for."""
    def factor(of: float) -> float:
        return math.exp(rng.gauss(0, math.log(of) / PARTS))

    name = "needle_out" if toward == "out" else "needle_back"
    setting = getattr(at, name)
    if setting < NO_NEEDLE:
        setting = min(max(setting + rng.gauss(0, spread.needle / PARTS), 0.01), max(setting, 1.0))
    changed = replace(at, **{name: setting}, friction=factor(spread.friction), delay=factor(spread.delay),
                      flow=factor(spread.flow))
    return replace(prop, pressure_pa_gauge=prop.pressure_pa_gauge * factor(spread.pressure)), changed


@pytest.mark.parametrize("spread", [UNTIMED, TIMED], ids=["untimed", "timed"])
@pytest.mark.parametrize("name", PROPS)
def test_about_ninety_five_in_a_hundred_land_in_the_band(name: str, spread: Spread) -> None:
    """A count of 400 wavers by 1.1 % (binomial law), so 92 to 98.5 % is what 95 % looks like."""
    prop, toward = PROPS[name]
    unknowns = unknowns_of(prop.cylinder)

    def arrival(asked: Described, at: Unknowns) -> float:
        return arrival_s(asked, at, toward, 60.0, 1e-3)

    band = band_of(prop, unknowns, toward, spread, arrival)
    base, rng = arrival(prop, unknowns), random.Random(11)
    found = []
    for _ in range(DRAWS):
        taken = math.log(1 + spread.taken_s / base) / PARTS
        found.append(arrival(*drawn(rng, prop, unknowns, toward, spread)) * math.exp(rng.gauss(0, taken)))
    inside = sum(band.fastest_s <= one <= band.slowest_s for one in found) / DRAWS
    assert 0.92 <= inside <= 0.985, (band, base, inside)


def test_a_rod_that_may_stall_says_so() -> None:
    weak = described(acting="single", returned_by="weight", moves="9 lb", lifts="90 deg", bore="2 in", rod="5/8 in")
    unknowns = unknowns_of(weak.cylinder)
    friction = replace(unknowns, friction=0.4)

    def arrival(asked: Described, at: Unknowns) -> float:
        return arrival_s(asked, at, "home", 60.0, 1e-3)

    assert math.isinf(arrival(weak, unknowns))
    band = band_of(weak, friction, "home", UNTIMED, arrival)
    assert band.stalls
    assert band.slowest_s > 2 * arrival(weak, friction)


@pytest.mark.parametrize("spread", [UNTIMED, TIMED], ids=["untimed", "timed"])
@pytest.mark.parametrize("name", PROPS)
def test_an_end_that_is_taken_from_the_other_leaves_the_band_where_it_was(name: str, spread: Spread) -> None:
    """Both ends of every spread reckoned, beside what is left out where little changes: 0.5 % at most."""
    prop, toward = PROPS[name]
    unknowns = unknowns_of(prop.cylinder)

    def arrival(asked: Described, at: Unknowns) -> float:
        return arrival_s(asked, at, toward, 60.0, 1e-4)

    base, earlier, later = arrival(prop, unknowns), 0.0, 0.0
    for ends in _moved(prop, unknowns, toward, spread, True):
        offs = [math.log(arrival(*end) / base) for end in (ends.one, ends.other)]
        later, earlier = later + max(*offs, 0.0) ** 2, earlier + min(*offs, 0.0) ** 2
    taken = math.log1p(spread.taken_s / base) ** 2
    valve = prop.valve
    answers = (valve.responds if energised(valve, toward) else valve.releases).si
    band = band_of(prop, unknowns, toward, spread, arrival, answers)
    assert band.fastest_s == pytest.approx(base * math.exp(-math.sqrt(earlier + taken)), rel=5e-3)
    assert band.slowest_s == pytest.approx(base * math.exp(math.sqrt(later + taken)), rel=5e-3)
