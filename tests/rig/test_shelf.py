"""The shelf: every value has a source, reads as a property of its kind, and gives a part that is whole."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from typing import Any

import pytest
from pydantic import ValidationError

from sequencer.board.profiles import PROFILES
from sequencer.rig import KINDS, shelf
from sequencer.rig.shelf.shape import ShelfPart
from sequencer.rig.tubes import INNER_BY_OUTER
from sequencer.rig.valve import power_off_way

# What an author adds to a part from the shelf so that it is whole.
ADDED = {
    "board": (),
    "compressor": (),
    "supply": (),
    "line": ("from shed", "length 50 ft"),
    "cylinder": ("on shove", "stroke 6 in"),
    "sensor": ("on box in1",),
    "lamp": ("on box pwm1",),
    "fogger": ("on box out3",),
    "pump": ("on box out3",),
    "motor": ("on box out3",),
    "valve": ("on box out1",),
}
PARTS = list(shelf.stock().values())


def build(make: Any, part: ShelfPart) -> Any:
    second = ("back on box out2",) if ("solenoids 2", "what the name says") in part.says else ()
    return make(part.kind, *(phrase for phrase, _ in part.says), *ADDED[part.kind], *second)


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_a_part_from_the_shelf_can_be_built(make: Any, read: Any, part: ShelfPart) -> None:
    built = build(make, part)
    said = read(part.kind, *(phrase for phrase, _ in part.says))
    assert said and all(getattr(built, field) == value for field, value in said.items())


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_every_value_on_the_shelf_has_its_source(part: ShelfPart) -> None:
    known = re.compile(
        r"what the name says|from memory|common practice, no source|ISO \d+|NFPA|follows from"
        r"|the usual way|this project's own limit"
    )
    assert part.about and part.kind in KINDS
    for phrase, source in part.says:
        assert known.match(source), f"{part.name}: `{phrase}` has no source"


def test_no_property_is_said_twice_in_one_entry(read: Any) -> None:
    for part in PARTS:
        fields = [field for phrase, _ in part.says for field in read(part.kind, phrase)]
        assert len(fields) == len(set(fields)), part.name


def test_names_are_unique_and_found_by_kind() -> None:
    by_kind = [name for kind in shelf.STOCKED for name in shelf.names(kind)]
    assert len(by_kind) == len(set(by_kind)) == len(shelf.SHELF) and tuple(by_kind) == shelf.names()
    assert shelf.find("valve_5_2_quarter") is shelf.SHELF["valve_5_2_quarter"]
    assert shelf.find("valve_5_2_quart") is None and shelf.names("ghost") == ()


def test_boards_on_the_shelf_are_the_boards_there_are() -> None:
    assert set(shelf.names("board")) == {profile.name for profile in PROFILES}


def test_the_whole_family_of_valves_is_there_in_both_sizes(make: Any) -> None:
    names = {
        f"valve_{kind}_{size}"
        for size in ("eighth", "quarter")
        for kind in ("2_2", "3_2", "5_2", "5_2_double", "5_3_closed", "5_3_exhausted")
    }
    assert names <= set(shelf.names("valve"))
    ways = {name: power_off_way(build(make, shelf.SHELF[name])) for name in names if name.endswith("quarter")}
    assert ways == {
        "valve_2_2_quarter": "stays",
        "valve_3_2_quarter": "home",
        "valve_5_2_quarter": "home",
        "valve_5_2_double_quarter": "stays",
        "valve_5_3_closed_quarter": "stays",
        "valve_5_3_exhausted_quarter": "free",
    }


# ISO 6432 and ISO 15552 bores and rods, mm; as listed in an open cylinder-sizing tool (secondary copy).
ISO_PAIRS = {
    8: 4,
    10: 4,
    12: 6,
    16: 6,
    20: 8,
    25: 10,
    32: 12,
    40: 16,
    50: 20,
    63: 20,
    80: 25,
    100: 25,
    125: 32,
}
# NFPA interchangeable series, inches, standard rod; from one dimension table (secondary copy).
SQUARE_PAIRS = {1.125: 0.5, 1.5: 0.625, 2: 0.625, 2.5: 0.625, 3.25: 1, 4: 1, 5: 1, 6: 1.375}
# Round-body inch bores: from memory.
ROUND_PAIRS = {
    0.4375: 0.1875,
    0.5625: 0.1875,
    0.75: 0.25,
    0.875: 0.25,
    1.0625: 0.3125,
    1.25: 0.4375,
    1.5: 0.4375,
    2: 0.625,
}


@pytest.mark.parametrize(
    ("prefix", "pairs", "unit_m"),
    [
        (r"cylinder_\d+mm", ISO_PAIRS, 0.001),
        ("cylinder_square", SQUARE_PAIRS, 0.0254),
        ("cylinder_round", ROUND_PAIRS, 0.0254),
    ],
)
def test_bores_and_rods_are_those_of_the_tables(
    make: Any, prefix: str, pairs: dict[float, float], unit_m: float
) -> None:
    built = [build(make, shelf.SHELF[name]) for name in shelf.names("cylinder") if re.match(prefix, name)]
    found = {round(part.bore.si / unit_m, 6): round(part.rod.si / unit_m, 6) for part in built}
    assert found == pairs


def test_the_force_of_a_shelf_cylinder_is_what_makers_and_a_handbook_print(make: Any) -> None:
    # 32/12 mm at 6 bar: 483 N out, 415 N back, as printed for ISO 15552 cylinders (from memory).
    metric = build(make, shelf.SHELF["cylinder_32mm"])
    bore_m2, rod_m2 = (math.pi / 4 * part.si**2 for part in (metric.bore, metric.rod))
    assert 6e5 * bore_m2 == pytest.approx(483, abs=0.5)
    assert 6e5 * (bore_m2 - rod_m2) == pytest.approx(415, abs=0.5)
    # 1-1/2 in at 80 psi: 141 lbf, Machine Design, guidelines for the load of pneumatic actuators.
    inch = build(make, shelf.SHELF["cylinder_round_1_1_2_in"])
    assert 80 * math.pi / 4 * (inch.bore.si / 0.0254) ** 2 == pytest.approx(141, abs=0.5)


@pytest.mark.parametrize("name", shelf.names("valve"))
def test_the_flow_of_a_valve_agrees_with_the_coefficient_beside_it(make: Any, name: str) -> None:
    # Printed pairs of C and Cv in catalogues give C/Cv from 3.11 to 4.00 dm3/(s bar).
    part = shelf.SHELF[name]
    source = next(source for phrase, source in part.says if phrase.startswith("conductance"))
    coefficient = float(re.search(r"Cv of about ([\d.]+)", source)[1])  # type: ignore[index]
    assert 3.11 <= build(make, part).conductance.si / 1e-8 / coefficient <= 4.00


def test_a_tube_is_wider_the_wider_it_is_outside(make: Any) -> None:
    tubes = [build(make, shelf.SHELF[name]) for name in shelf.names("line")]
    assert len(tubes) == len(INNER_BY_OUTER)
    tubes.sort(key=lambda tube: tube.tube.si)
    walls = [(tube.tube.si - tube.inner_m) / 2 for tube in tubes]
    assert all(0.0005 < wall < 0.003 for wall in walls), (
        "walls of sold tube are about 0.7 to 2 mm (from memory)"
    )
    inner = [tube.inner_m for tube in tubes]
    assert inner == sorted(inner)


def test_a_stop_from_the_shelf_reads_a_torn_wire_as_a_stop(make: Any) -> None:
    # An input pulled high goes high when its wire is torn: normally closed loop (IEC 60204-1, from memory).
    for name in ("stop_mushroom", "alarm_loop"):
        assert build(make, shelf.SHELF[name]).tripped == "high"


def test_what_the_shelf_leaves_open_must_be_written(make: Any) -> None:
    with pytest.raises(ValidationError):
        make("cylinder", *(phrase for phrase, _ in shelf.SHELF["cylinder_40mm"].says))


def test_the_kinds_of_part_do_not_load_the_shelf() -> None:
    code = "import sys, sequencer.rig; print(*[m for m in sys.modules if m.startswith('sequencer')])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    assert "sequencer.rig.valve" in loaded
    assert not [module for module in loaded if "shelf" in module]
    allowed = re.compile(r"sequencer($|\.(frozen|units|findings|phrases|rig)($|\.))")
    assert [module for module in loaded if not allowed.match(module)] == []
