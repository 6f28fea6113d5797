"""Each linkage against virtual work by finite differences of the places of its masses (see `bodies`)."""

from __future__ import annotations

import cmath
import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sequencer.air.mechanism.linkage import Linkage
from sequencer.air.mechanism.rope import RopeLift
from tests.air.mechanism.bodies import ByVirtualWork, masses_of, slope
from tests.air.mechanism.geometries import linkages

inside = st.floats(0.1, 0.9)
many = settings(max_examples=300, deadline=None)


def clear_of_the_corner(linkage: Linkage, x: float) -> bool:
    """A rope that stretches has a corner in its slope where it holds all; differences across it mean nothing."""
    if not isinstance(linkage, RopeLift) or linkage.stretch_m == 0:
        return True
    pulled = linkage.times * (x if linkage.pulls_out else linkage.out_m - x)
    return abs(pulled - 2 * linkage.stretch_m) > 0.02 * linkage.times * linkage.out_m


@many
@given(linkages, inside)
def test_mass_slope_and_load_are_those_of_the_places_of_the_masses(linkage: Linkage, part: float) -> None:
    x = part * linkage.out_m
    assume(clear_of_the_corner(linkage, x))
    work = ByVirtualWork(linkage, 5e-4 * linkage.out_m)
    mass, half, load = linkage.terms(x)
    scale = max(work.mass(x), 1e-3)
    weight = max(abs(work.load(x)), sum(kg for kg, _ in masses_of(linkage, x)) * 0.1)
    assert mass == pytest.approx(work.mass(x), abs=2e-6 * scale)
    assert half == pytest.approx(work.half(x), abs=2e-5 * max(abs(half), scale / linkage.out_m))
    assert load == pytest.approx(work.load(x), abs=2e-6 * weight)


@many
@given(linkages, inside)
def test_the_end_is_where_the_load_is_and_its_travel_follows_the_rod(linkage: Linkage, part: float) -> None:
    x = part * linkage.out_m
    assume(clear_of_the_corner(linkage, x))
    end = linkage.end_at(x)
    assert end is not None
    place = masses_of(linkage, x)[0][1]
    if isinstance(linkage, RopeLift):
        place -= masses_of(linkage, 0.0)[0][1]
    assert complex(end.right_m, end.up_m) == pytest.approx(place, abs=1e-9)
    step = 5e-4 * linkage.out_m
    speed = slope(lambda at: masses_of(linkage, at)[0][1], x, step)
    assert abs(end.ratio) == pytest.approx(abs(speed), rel=1e-5, abs=1e-6)
    by_travel = slope(lambda at: linkage.end_at(at).travel_m, x, step).real
    assert end.ratio == pytest.approx(by_travel, rel=1e-5, abs=1e-6)
    by_ratio = slope(lambda at: linkage.end_at(at).ratio, x, step).real
    assert end.bend_1_m == pytest.approx(by_ratio, rel=1e-4, abs=1e-5 * (1 + abs(end.ratio) / linkage.out_m))


@many
@given(linkages)
def test_travel_starts_at_nothing_and_ends_on_the_side_of_the_rod_out(linkage: Linkage) -> None:
    home, out = linkage.end_at(0.0), linkage.end_at(linkage.out_m)
    assert home is not None and out is not None
    assert home.travel_m == pytest.approx(0.0, abs=1e-9)
    assert out.travel_m >= 0


@many
@given(linkages)
def test_beyond_its_ends_a_linkage_answers_as_at_the_end(linkage: Linkage) -> None:
    assert linkage.terms(-1e-4) == linkage.terms(0.0)
    assert linkage.terms(linkage.out_m * (1 + 1e-9)) == pytest.approx(linkage.terms(linkage.out_m))
    assert all(math.isfinite(term) for x in (0.0, linkage.out_m) for term in linkage.terms(x))


def test_the_masses_of_a_bar_turn_as_a_bar() -> None:
    # An even bar of 3 kg and 2 m by its end: m l^2 / 3 = 4 kg m2, any table of moments of inertia.
    from tests.air.mechanism.bodies import GAUSS

    assert sum(1.5 * abs(part * 2 * cmath.exp(0.7j)) ** 2 for part in GAUSS) == pytest.approx(4.0)
