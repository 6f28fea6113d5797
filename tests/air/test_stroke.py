"""One motion: measured times rule, estimates say that they are some, and nothing is guessed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air.stroke import Stroke, StrokeRequest, predict_stroke
from sequencer.phrases import PinName
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve
from sequencer.units import read_quantity


def valve(**said: str) -> Valve:
    quantities = {name: read_quantity(text) for name, text in said.items()}
    return Valve(name="shove", pin=PinName("box", "out1"), ports="5/2", unpowered="retracts", **quantities)


def cylinder(**said: object) -> Cylinder:
    values = {name: read_quantity(value) if isinstance(value, str) and value[0].isdigit() else value
              for name, value in said.items()}
    base = {"name": "ram", "valve": "shove", "bore": read_quantity("32 mm"), "rod": read_quantity("12 mm"),
            "stroke": read_quantity("300 mm")}
    return Cylinder(**{**base, **values})


def request(toward: str = "out", start: float = 0.0, **said: object) -> StrokeRequest:
    return StrokeRequest(cylinder(**said), valve(), 0.004, 2.0, 6e5, start, toward)  # type: ignore[arg-type]


MEASURED = {"measured_out": "420 ms", "measured_back": "900 ms"}


def test_measured_times_are_from_the_click_of_the_valve_to_the_arrival() -> None:
    out, home = predict_stroke(request(**MEASURED)), predict_stroke(request("home", 1.0, **MEASURED))
    assert (out.arrival_us(1.0), home.arrival_us(0.0)) == (420_000, 900_000)
    assert out.basis == home.basis == "measured"
    # responds in 20 ms, releases in 30 ms, half over 3 ms later
    assert (out.lead_us, home.lead_us) == (23_000, 33_000)


def test_part_of_a_measured_stroke_takes_its_share_of_the_travel() -> None:
    half = predict_stroke(request(start=0.5, **MEASURED))
    assert half.end_us == 23_000 + (420_000 - 23_000) // 2
    whole = predict_stroke(request(**MEASURED))
    assert whole.arrival_us(0.25) == pytest.approx(23_000 + (420_000 - 23_000) / 4, abs=1)


def test_a_stroke_that_is_already_there_only_clicks() -> None:
    there = predict_stroke(request(start=1.0, **MEASURED))
    assert there.travel_us == 0
    assert there.arrival_us(1.0) == there.lead_us


def test_an_estimate_says_so_and_is_thirty_per_cent_wide() -> None:
    estimate = predict_stroke(request(moves="2 kg"))
    assert estimate.basis == "estimate"
    assert "estimate" in estimate.says
    assert estimate.fastest_us == pytest.approx(estimate.end_us * 0.7, abs=1)
    assert estimate.slowest_us == pytest.approx(estimate.end_us * 1.3, abs=1)


def test_without_pressure_nothing_is_guessed() -> None:
    with pytest.raises(ValueError, match="neither the pressure"):
        predict_stroke(replace(request(), pressure_pa_gauge=None))
    assert predict_stroke(replace(request(**MEASURED), pressure_pa_gauge=None)).end_us == 420_000


def test_a_metered_stroke_against_a_model_of_both_chambers() -> None:
    """32/12 mm, 300 mm, 2 kg, 6 bar, exhaust of 0.1 dm3/(s bar): the whole stroke in 1.916 s.

    Source: integration of the two-chamber equations, a model of its own. The steady speed knows no start-up, so it is
    early; that it is inside the band is what the band is for. The valve's exhaust stands for the whole restriction:
    the flow control in series takes 0.1 % of it.
    """
    narrow = replace(request(moves="2 kg"), valve=valve(exhaust="0.1 dm3/s/bar", conductance="5 dm3/s/bar"),
                     tube_length_m=0.0)
    found = predict_stroke(narrow)
    assert found.fastest_us < 1_916_000 < found.slowest_us


@given(st.floats(0.05, 1.0), st.floats(0.0, 1.0))
def test_closing_the_needle_or_going_farther_never_arrives_sooner(opening: float, start: float) -> None:
    def arrives(share: float, begin: float) -> int:
        return predict_stroke(request(start=begin, needle_out=f"{share * 100:.3f} %")).end_us

    assert arrives(opening, start) >= arrives(1.0, start)
    assert arrives(opening, start) <= arrives(opening, 0.0)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.sampled_from(["out", "home"]), st.booleans())
def test_on_its_way_a_rod_passes_places_in_their_order(start: float, place: float, toward: str, timed: bool) -> None:
    made = predict_stroke(request(toward, start, **(MEASURED if timed else {})))
    assert made.lead_us <= made.arrival_us(place) <= made.end_us
    low, high = made.band_us(place)
    assert low <= made.arrival_us(place) <= high
    end = 1.0 if toward == "out" else 0.0
    assert made.arrival_us(end) == made.end_us


def test_more_load_is_slower_and_too_much_hardly_moves() -> None:
    def lifting(mass: str) -> Stroke:
        return predict_stroke(request(moves=mass, lifts="90 deg"))

    # 32 mm at 6 bar pushes 482 N, which is 49 kg straight up; friction takes 24 N of it
    assert lifting("40 kg").end_us >= lifting("2 kg").end_us
    assert "hardly" in lifting("60 kg").says
    assert "hardly" not in lifting("20 kg").says


def test_air_of_a_stroke_counts_what_is_filled() -> None:
    whole, half = predict_stroke(request(**MEASURED)), predict_stroke(request(start=0.5, **MEASURED))
    back = predict_stroke(request("home", 1.0, **MEASURED))
    assert half.free_air_std_l < back.free_air_std_l < whole.free_air_std_l
    alone = predict_stroke(request("home", 1.0, acting="single", returned_by="spring", **MEASURED))
    assert alone.free_air_std_l == 0.0
