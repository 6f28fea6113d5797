"""What cannot be built is refused, with the field to look at and the numbers that decide."""

from __future__ import annotations

from dataclasses import FrozenInstanceError
from typing import Any

import pytest
from pydantic import ValidationError

RAM = "on shove, bore 40 mm, rod 16 mm, stroke 300 mm"
SHED = "delivers 5.1 scfm at 90 psi, tank 20 gal"
LEVER = "on ram, rod 8 in from the pivot, carries 9 lb, arm 30 in"
BARS = "on ram, rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, carries 2 kg"

REFUSED = [
    ("cylinder", "on shove, bore 16 mm, rod 20 mm, stroke 300 mm", "rod", ["20 mm", "16 mm"]),
    ("cylinder", "on shove, bore 16 mm, rod 16 mm, stroke 300 mm", "rod", ["16 mm"]),
    ("cylinder", f"{RAM}, single acting", "acting", ["spring returns"]),
    ("cylinder", f"{RAM}, weight returns", "returned_by", ["weight", "single acting"]),
    ("cylinder", f"{RAM}, spring preload 20 N", "preload", ["spring returns"]),
    ("cylinder", f"{RAM}, single acting, weight returns, spring rate 1 N/mm", "rate", ["spring returns"]),
    ("compressor", f"{SHED}, cuts in at 125 psi, cuts out at 95 psi", "cut_in", ["125 psi", "95 psi"]),
    ("compressor", f"{SHED}, cuts in at 95 psi, cuts out at 95 psi", "cut_in", ["95 psi"]),
    (
        "compressor",
        f"{SHED}, cuts in at 95 psi, cuts out at 125 psi, relief at 120 psi",
        "relief",
        ["120 psi"],
    ),
    ("cylinder", f"{RAM}, single acting, spring returns, quick exhaust out", "quick_out", ["quick exhaust back"]),
    ("cylinder", f"{RAM}, single acting, spring returns, quick exhaust both ways", "quick_out", ["quick exhaust back"]),
    ("cylinder", f"{RAM}, quick exhaust conductance 3 dm3/s/bar", "quick_flow", ["quick exhaust out"]),
    ("compressor", f"{SHED}, cuts in at 95 psi, cuts out at 125 psi, tank starts at 130 psi", "starts",
     ["130 psi", "125 psi"]),
    ("manifold", "on shed, ports 4, regulator conductance 3 dm3/s/bar", "regulator_flow", ["3 dm3/s/bar"]),
    ("manifold", "on shed, ports 4, regulator passes 900 L/min", "regulator_passes", ["900 L/min"]),
    ("manifold", "on shed, ports 4, regulator 60 psi, regulator passes 900 L/min, regulator conductance 3 dm3/s/bar",
     "regulator_passes", ["900 L/min", "3 dm3/s/bar"]),
    ("valve", "on box out1, kind 5/2, without power retracts, muffler none, muffler conductance 1 dm3/s/bar",
     "muffler_flow", ["1 dm3/s/bar", "muffler none"]),
    ("line", "from shed, tube 7 mm, length 3 m", "tube", ["7 mm", "inside"]),
    ("line", "from shed, tube 6 mm, inside 7 mm, length 3 m", "inside", ["6 mm", "7 mm"]),
    ("prop", "air from bench port 1, tube 1/4 in", "tube", ["1/4 in", "length"]),
    ("prop", "air from bench port 1, length 3 m", "length", ["tube"]),
    ("prop", "tube 1/4 in, length 3 m", "tube", ["air from"]),
    ("prop", "regulator 60 psi", "regulator", ["air from"]),
    ("sensor", "on box in1, low when tripped, kind stop, sees ram out", "role", ["stop"]),
    ("sensor", "on box in1, low when tripped, kind stop, ready after 45 s", "warm_up", ["45 s"]),
    ("valve", "on box out1, kind 5/2", "unpowered", ["not said", "retracts", "extends"]),
    ("valve", "on box out1, kind 5/2, without power closed", "unpowered", ["closed", "retracts"]),
    ("valve", "on box out1, kind 3/2, without power retracts", "unpowered", ["retracts", "closed"]),
    ("valve", "on box out1, kind 5/2, without power stays", "unpowered", ["stays"]),
    ("valve", "on box out1, back on box out2, solenoids 2, kind 5/3", "centre", ["centre closed"]),
    (
        "valve",
        "on box out1, back on box out2, solenoids 2, kind 5/3, without power stays",
        "unpowered",
        ["5/3"],
    ),
    ("valve", "on box out1, kind 5/3, without power centre closed", "solenoids", ["5/3", "not 1"]),
    ("valve", "on box out1, kind 5/2, without power centre closed", "centre", ["5/2"]),
    ("valve", "on box out1, kind 5/2, solenoids 2, without power stays", "solenoids", ["back on"]),
    ("valve", "on box out1, back on box out2, kind 5/2, without power retracts", "back_pin", ["solenoids 2"]),
    (
        "valve",
        "on box out1, back on box out1, kind 5/2, solenoids 2, without power stays",
        "back_pin",
        ["out1"],
    ),
    (
        "valve",
        "on box out1, kind 2/2, solenoids 2, back on box out2, without power closed",
        "solenoids",
        ["2/2"],
    ),
    (
        "valve",
        "on box out1, back on box out2, kind 5/2, solenoids 2, without power stays, responds in 50 ms, "
        "pulse 40 ms",
        "pulse",
        ["40 ms", "56 ms"],
    ),
    ("speaker", 'on box out7, clip growl "a.wav", clip growl "b.wav"', "clips", ["growl"]),
    ("speaker", 'clip growl "a.wav"', "clips", ["growl", "on"]),
    (
        "lever",
        f"{LEVER}, cylinder 20 in from the pivot at -90 deg, swings from 10 deg to 10 deg",
        "end",
        ["10 deg"],
    ),
    (
        "lever",
        f"{LEVER}, cylinder 20 in from the pivot at -90 deg, swings from 60 deg to -10 deg",
        "start",
        ["60 deg"],
    ),
    (
        "fourbar",
        f"{BARS}, swings from -20 deg to 60 deg, ground 40 cm, crank 10 cm, coupler 5 cm, rocker 6 cm",
        "coupler",
        ["11 cm"],
    ),
    (
        "scissor",
        "on ram, stages 2, links 40 cm, opens from 30 deg to 30 deg, carries 5 kg",
        "end",
        ["30 deg"],
    ),
    ("spring", "on ram, rate 0 N/mm, pushes home", "rate", ["nothing"]),
]


@pytest.mark.parametrize(("kind", "line", "field", "words"), REFUSED)
def test_what_cannot_be_built_is_refused(
    make: Any, kind: str, line: str, field: str, words: list[str]
) -> None:
    with pytest.raises(ValidationError) as refused:
        make(kind, line)
    (error,) = refused.value.errors()
    assert (error["type"], error["ctx"]["field"]) == ("contradiction", field)
    assert all(word in error["msg"] for word in words), error["msg"]
    assert "\n" not in error["msg"] and len(error["msg"]) < 220


OUTSIDE = [
    ("cylinder", "on shove, bore 0 mm, rod 16 mm, stroke 300 mm", "bore"),
    ("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 0 in", "stroke"),
    ("cylinder", f"{RAM}, needle out 101 %", "needle_out"),
    ("cylinder", f"{RAM}, lifts 91 deg", "lifts"),
    ("cylinder", f"{RAM}, measured out 0 s", "measured_out"),
    ("compressor", f"{SHED}, cuts in at 95 psi, cuts out at 125 psi, runs at most 0 % of the time", "duty"),
    ("compressor", "delivers 0 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi", "flow"),
    ("manifold", "on yard, ports 0", "ports"),
    ("prop", "air from bench port 0", "port"),
    ("supply", "gives 230 V, up to 5 A", "voltage"),
    ("board", "is avr328, stops without a heartbeat for 10 ms", "heartbeat"),
    ("sensor", "on box in1, low when tripped, settles in 3 s", "settle"),
    ("valve", "on box out1, kind 5/2, without power retracts, solenoids 3", "solenoids"),
    ("valve", "on box out1, kind 5/2, without power retracts, critical ratio 90 %", "critical_ratio"),
    ("valve", "on box out1, kind 5/2, without power retracts, conductance 0 dm3/s/bar", "conductance"),
    ("lamp", "on box pwm1, draws 0 W", "draws"),
    ("scissor", "on ram, stages 2, links 40 cm, opens from 0 deg to 30 deg, carries 5 kg", "start"),
    ("rope", "on ram, carries 2 kg, length 3 m, multiplies 9 times", "times"),
]


@pytest.mark.parametrize(("kind", "line", "field"), OUTSIDE)
def test_a_value_outside_its_range_is_refused_with_both_ends(
    make: Any, kind: str, line: str, field: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        make(kind, line)
    (error,) = refused.value.errors()
    assert (error["type"], error["loc"][0]) == ("range", field)
    assert " is outside " in error["msg"] and " to " in error["msg"]


@pytest.mark.parametrize(
    ("kind", "line", "missing"),
    [
        ("cylinder", "on shove, bore 40 mm", {"rod", "stroke"}),
        ("compressor", "tank 20 gal", {"flow", "flow_at", "cut_in", "cut_out"}),
        ("sensor", "on box in1", {"tripped"}),
        ("board", "supply brick", {"model"}),
        ("valve", "without power retracts", {"pin", "ports"}),
        ("lamp", "draws 3 W", {"pin"}),
        ("spring", "on ram", {"rate", "pushes"}),
    ],
)
def test_what_is_missing_is_all_named_at_once(make: Any, kind: str, line: str, missing: set[str]) -> None:
    with pytest.raises(ValidationError) as refused:
        make(kind, line)
    errors = refused.value.errors()
    assert {error["type"] for error in errors} == {"missing"}
    assert {error["loc"][0] for error in errors} == missing


def test_a_part_cannot_be_changed_or_given_a_field_it_has_not(make: Any) -> None:
    ram = make("cylinder", RAM)
    with pytest.raises(FrozenInstanceError):
        ram.bore = ram.rod
    with pytest.raises(FrozenInstanceError):
        del ram.bore
    with pytest.raises(ValidationError):
        type(ram)(**{**dict(ram), "colour": "red"})
