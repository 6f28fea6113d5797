"""What a builder says becomes checked parts; what is not said is told; what cannot be is one sentence."""

from __future__ import annotations

import pytest

from sequencer.language.parts import _shelf_values
from sequencer.rig import KINDS, shelf
from sequencer.rig.shelf.read import values_of
from sequencer.sizing.given import given
from sequencer.sizing.made import Unfit
from tests.sizing.props import ram, said


@pytest.mark.parametrize("name", shelf.names())
def test_a_part_of_the_shelf_says_the_same_here_as_in_a_show(name: str) -> None:
    part = shelf.find(name)
    assert part is not None
    assert values_of(part) == _shelf_values(KINDS[part.kind], tuple(phrase for phrase, _ in part.says))


def test_what_is_not_said_is_told() -> None:
    found = ram()
    assert str(found.cylinder.rod) == "7/16 in" and found.valve_name == "valve_5_2_quarter"
    told = " ".join(found.assumed)
    for part in ("rod 7/16 in", "no flow control for the way out and back", "valve_5_2_quarter"):
        assert part in told
    everything = ram(rod="5/8 in", needle_out="40 %", needle_back="50 %", valve="valve_5_2_eighth")
    assert everything.assumed == ()


def test_a_cylinder_of_the_shelf_brings_bore_and_rod() -> None:
    found = ram(bore=None, like="cylinder_32mm")
    assert (str(found.cylinder.bore), str(found.cylinder.rod)) == ("32 mm", "12 mm")
    assert found.cylinder.cushioned


def test_a_metric_bore_takes_no_inch_rod() -> None:
    """40 mm is 1.575 in: near enough to 1-1/2 in to be mistaken for it, were sizes compared loosely."""
    assert str(ram(bore="40 mm").cylinder.rod) == "16 mm"


def test_single_acting_takes_a_valve_that_lets_it_home() -> None:
    found = ram(acting="single", returned_by="weight", lifts="90 deg")
    assert found.valve.ports == "3/2"


def test_only_a_cv_is_told_with_its_range() -> None:
    """C / Cv of printed pairs 3.11 to 4.00 dm3/s/bar; see `convert`."""
    found = ram(valve="valve_5_2_quarter", cv=0.33)
    assert found.valve.conductance.si == pytest.approx(1.164e-8, rel=1e-3)
    assert any("1.03 to 1.32" in words for words in found.assumed)
    with pytest.raises(Unfit, match="said twice"):
        ram(cv=0.33, conductance="1.3 dm3/s/bar")


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("bore", "0 in", "0 in is outside 0.1181 in to 12.6 in"), ("bore", "1.6 in", "its rod must be said"),
        ("bore", None, "the bore is not said"), ("stroke", None, "the stroke is not said"),
        ("stroke", "5 m", "outside"), ("rod", "2 in", "does not fit into a bore of 1-1/2 in"),
        ("regulator", None, "the pressure is not said"), ("regulator", "-3 psi", "outside 3 psi to 250 psi"),
        ("regulator", "900 psi", "outside 3 psi to 250 psi"), ("moves", "0 lb", "outside"),
        ("lifts", "120 deg", "outside -90 deg to 90 deg"), ("length", "1000 m", "outside"), ("length", None, "length"),
        ("tube", "7 mm", "no inner diameter is known"), ("needle_out", "140 %", "outside 1 % to 100 %"),
        ("valve", "valve_5_2_quater", "did you mean valve_5_2_quarter"), ("valve", "compressor_6_gal", "no valve"),
        ("cv", 0.0, "outside 0.005 to 20"), ("acting", "single", "needs something that brings it home"),
        ("preload", "20 N", "needs a spring inside"),
    ],
)
def test_what_cannot_be_is_told_with_its_sane_range(field: str, value: object, says: str) -> None:
    with pytest.raises(Unfit) as fault:
        given(said(**{field: value}))
    assert says in str(fault.value)
    assert "\n" not in str(fault.value)
