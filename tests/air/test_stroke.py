"""One motion through the door that the tool uses: times, places, what was measured, states it may begin in."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.air.calibrate import calibrate
from sequencer.air.from_rig import NoMechanism
from sequencer.air.request import StrokeRequest, Told, UnknownAir, described_by
from sequencer.air.stroke import Stroke, predict_stroke
from sequencer.phrases import PinName
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.lever import Lever
from sequencer.rig.slide import Slide
from sequencer.rig.spring import Spring
from sequencer.rig.valve import Valve
from sequencer.units import read_quantity

PSI = 6894.757


def said(values: dict[str, object]) -> dict[str, object]:
    return {name: read_quantity(value) if isinstance(value, str) and value.lstrip("-")[0].isdigit() else value
            for name, value in values.items()}


def valve(ports: str = "5/2", **more: object) -> Valve:
    unpowered = {"5/2": "retracts", "3/2": "closed", "2/2": "closed"}[ports]
    return Valve(name="shove", pin=PinName("box", "out1"), ports=ports, unpowered=unpowered, **said(more))


def cylinder(**more: object) -> Cylinder:
    base = {"name": "ram", "valve": "shove", "bore": "32 mm", "rod": "12 mm", "stroke": "300 mm", "moves": "2 kg"}
    return Cylinder(**said({**base, **more}))  # type: ignore[arg-type]


def request(toward: str = "out", **more: object) -> StrokeRequest:
    start = 0.0 if toward == "out" else 1.0
    return StrokeRequest(cylinder(**more), valve(), 0.004, 2.0, 6e5, start, toward)  # type: ignore[arg-type]


MEASURED = {"measured_out": "600 ms", "measured_back": "900 ms"}


def test_measured_times_are_from_the_click_of_the_valve_to_the_arrival() -> None:
    out, home = predict_stroke(request(**MEASURED)), predict_stroke(request("home", **MEASURED))
    assert (out.arrival_us(1.0), home.arrival_us(0.0)) == (600_000, 900_000)
    assert out.basis == home.basis == "measured"
    assert out.arrives and home.arrives


def test_times_taken_at_another_pressure_are_fitted_there() -> None:
    at_60 = request(**MEASURED, measured_at="60 psi")
    same = predict_stroke(replace(at_60, pressure_pa_gauge=60 * PSI))
    more = predict_stroke(replace(at_60, pressure_pa_gauge=90 * PSI))
    assert same.end_us == 600_000
    assert more.end_us != 600_000
    assert calibrate(described_by(at_60)).unknowns == calibrate(
        described_by(replace(at_60, pressure_pa_gauge=90 * PSI))).unknowns


def test_what_was_timed_is_known_to_some_per_cent_and_what_was_not_to_some_twenty() -> None:
    for toward in ("out", "home"):
        timed, untimed = predict_stroke(request(toward, **MEASURED)), predict_stroke(request(toward))
        assert 0.02 < timed.slowest_us / timed.end_us - 1 < 0.10
        assert 0.15 < untimed.slowest_us / untimed.end_us - 1 < 0.40
        assert 0.10 < 1 - untimed.fastest_us / untimed.end_us < 0.40


def test_a_needle_near_closed_makes_an_untimed_arrival_most_uncertain() -> None:
    def wide(needle: str) -> float:
        made = predict_stroke(request(needle_out=needle))
        return (made.slowest_us - made.fastest_us) / made.end_us

    assert wide("15 %") > 1.3 * wide("60 %")


def test_without_pressure_nothing_is_guessed() -> None:
    with pytest.raises(UnknownAir, match="neither the pressure"):
        predict_stroke(replace(request(), pressure_pa_gauge=None))
    assert predict_stroke(replace(request(**MEASURED), pressure_pa_gauge=None)).end_us == 600_000


def test_a_stroke_that_is_already_there_only_clicks() -> None:
    """Responds in 20 ms, half over 3 ms later, and 6 ms in 2 m of tube: 2 / 343 s."""
    there = predict_stroke(replace(request(), start=1.0))
    assert there.travel_us == 0
    assert there.arrival_us(1.0) == there.lead_us == pytest.approx(28_800, abs=100)
    assert there.free_air_std_l == pytest.approx(0, abs=1e-9)


def test_a_metered_stroke_against_a_model_of_both_chambers() -> None:
    """32/12 mm, 300 mm, 2 kg, 6 bar, exhaust of 0.1 dm3/(s bar): the whole stroke in 1.916 s.

    Source: integration of the two-chamber equations, a model of its own, without the muffler that there is here.
    """
    narrow = replace(request(), valve=valve(exhaust="0.1 dm3/s/bar", conductance="5 dm3/s/bar"), tube_length_m=0.0)
    assert predict_stroke(narrow).end_us == pytest.approx(1_916_000, rel=0.03)


def test_air_of_a_whole_stroke_is_what_fills_it_and_its_tube() -> None:
    """(p A L + (p - 0) (dead + tube)) / p ANR, from an end that was vented: a closed form, to what has settled."""
    made = predict_stroke(request())
    supply, area = 6e5 + 101_325, 3.14159265 / 4 * 0.032**2
    dead = area * 0.008 + 2e-6 + 3.14159265 / 4 * 0.004**2 * 2.0
    litres = (supply * (dead + area * 0.3) - 101_325 * dead) / 1e5 * 1000
    assert made.free_air_std_l == pytest.approx(litres, rel=0.002)
    home = predict_stroke(replace(request("home"), cylinder=cylinder(acting="single", returned_by="spring",
                                                                      preload="60 N", rate="0.3 N/mm")))
    assert home.free_air_std_l == pytest.approx(0.0, abs=1e-9)


def test_more_load_is_later_and_too_much_never_moves() -> None:
    """32 mm at 6 bar pushes 482 N, which is 49 kg straight up; friction of rest takes 36 N of it."""
    def lifting(mass: str) -> Stroke:
        return predict_stroke(request(moves=mass, lifts="90 deg"))

    assert lifting("2 kg").end_us < lifting("30 kg").end_us
    assert lifting("44 kg").arrives
    assert lifting("47 kg").flags == ("never moved",)
    assert not lifting("47 kg").arrives


def test_a_reversal_midway_is_sooner_home_than_a_whole_way_and_begins_outward() -> None:
    whole = predict_stroke(request("home", **MEASURED))
    turned = predict_stroke(replace(request("home", **MEASURED), start=0.0, earlier=(Told(350_000, "out"),)))
    assert 0.1 < turned.start < 0.9
    assert turned.end_us < whole.end_us
    places = [place for _, place in turned.points]
    assert max(places) > turned.start
    assert places[-1] == pytest.approx(0.0, abs=1e-9)
    assert turned.flags == ()


def test_a_command_long_ago_is_as_none_and_one_taken_back_at_once_moves_nothing() -> None:
    fresh = predict_stroke(request("home"))
    long_ago = predict_stroke(replace(request("home"), start=0.0, earlier=(Told(30_000_000, "out"),)))
    assert long_ago.end_us == pytest.approx(fresh.end_us, rel=0.001)
    taken_back = predict_stroke(replace(request("home"), start=0.0, earlier=(Told(10_000, "out"),)))
    assert {place for _, place in taken_back.points} == {0.0}


def test_right_after_an_arrival_the_pressures_it_left_count() -> None:
    """The cap end has not filled yet, so there is less air to let out: home is sooner than from rest."""
    fresh = predict_stroke(request("home"))
    just_out = predict_stroke(request())
    told = Told(just_out.end_us + 5_000, "out")
    soon = predict_stroke(replace(request("home"), start=0.0, earlier=(told,)))
    assert soon.start == pytest.approx(1.0)
    assert soon.end_us < 0.97 * fresh.end_us


def test_springs_and_linkages_are_in_the_motion() -> None:
    plain = predict_stroke(request())
    helper = Spring(**said({"name": "helper", "cylinder": "ram", "rate": "0.2 N/mm", "preload": "100 N",
                            "pushes": "out"}))
    sledge = Slide(**said({"name": "sledge", "cylinder": "ram", "carries": "12 kg"}))
    assert predict_stroke(replace(request(), drives=(helper,))).end_us < plain.end_us
    slower = predict_stroke(replace(request(), drives=(sledge,)))
    heavier = predict_stroke(request(moves="14 kg"))
    assert slower.end_us == pytest.approx(heavier.end_us, rel=1e-3)
    assert slower.end_energy_j == pytest.approx(heavier.end_energy_j, rel=0.01)


def test_parts_that_make_no_mechanism_are_named() -> None:
    gate = Lever(**said({"name": "gate", "cylinder": "ram", "rod_at": "2 in", "base_at": "10 in", "base_angle": "0 deg",
                         "start": "20 deg", "end": "100 deg", "arm": "30 in", "carries": "2 kg"}))
    with pytest.raises(NoMechanism) as told:
        predict_stroke(replace(request(), drives=(gate,)))
    assert told.value.part == "gate"


@settings(max_examples=25, deadline=None)
@given(st.floats(0.05, 1.0), st.sampled_from(["out", "home"]))
def test_closing_the_needle_never_arrives_sooner(opening: float, toward: str) -> None:
    def arrives(share: float) -> int:
        needle = "needle_out" if toward == "out" else "needle_back"
        return predict_stroke(request(toward, **{needle: f"{share * 100:.3f} %"})).end_us

    assert arrives(opening) >= arrives(1.0)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.sampled_from(["out", "home"]), st.booleans(),
       st.integers(0, 900))
def test_on_its_way_a_rod_passes_places_in_their_order(
    one: float, other: float, toward: str, timed: bool, since_ms: int
) -> None:
    asked = request(toward, **(MEASURED if timed else {}))
    if since_ms:
        away = "home" if toward == "out" else "out"
        asked = replace(asked, start=1 - asked.start, earlier=(Told(since_ms * 1000, away),))  # type: ignore[arg-type]
    made = predict_stroke(asked)
    near, far = sorted((one, other), reverse=toward == "home")
    assert made.lead_us <= made.arrival_us(near) <= made.arrival_us(far) <= made.end_us
    low, high = made.band_us(far)
    assert low - 1000 <= made.arrival_us(far) <= high
    times = [us for us, _ in made.points]
    assert all(before < after for before, after in pairwise(times))
    assert all(0 <= place <= 1 for _, place in made.points)
