"""A scare again and again: what is left out of the reckoning beforehand loses nothing."""

from __future__ import annotations

from itertools import product

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.air import retrigger
from sequencer.checks.air_together import recovers
from sequencer.checks.clips import ClipFile

SHOW = """show "Signal box"
compressor shed: delivers DELIVERS at 90 psi, tank TANK, cuts in at 95 psi, cuts out at 125 psi
line hose from shed: tube TUBE, length LENGTH
manifold bench on hose: ports 4
board box like avr328
sensor mushroom like stop_mushroom: on box in0
sensor step like mat: on box in1
prop window:
    air from bench port 1, tube 3/8 in, length 3 ft, regulator 80 psi
    reach none
    valve shove like valve_5_2_quarter: on box out0, conductance 3 dm3/s/bar
    cylinder ram like CYLINDER: on shove, stroke 12 in, moves LOAD, cushioned
    scare lunge on step trips:
        rest REST
        0 s: ram extends
        STAYS: ram retracts
stop on mushroom trips: window.ram retracts
"""


def show(**said: str) -> str:
    plain = {"DELIVERS": "5.1 scfm", "TANK": "20 gal", "TUBE": "3/8 in", "LENGTH": "20 ft", "REST": "1 s",
             "STAYS": "2 s", "LOAD": "5 lb", "CYLINDER": "cylinder_round_1_1_2_in"}
    text = SHOW
    for place, value in (plain | said).items():
        text = text.replace(place, value)
    return text


def told(text: str, monkeypatch: pytest.MonkeyPatch | None = None) -> tuple[bool, list[bool]]:
    """Whether A010 comes, and for each scare on each supply whether it was left out beforehand. With `monkeypatch`
    nothing is left out, whatever it says."""
    asked: list[bool] = []

    def noting(*values: object) -> bool:
        asked.append(recovers(*values))  # type: ignore[arg-type]
        return asked[-1] and monkeypatch is None

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(retrigger, "recovers", noting)
        found = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, trouble="none"))
    return any(finding.code == "A010" for finding in found.findings), asked


GRID = list(product(("1/4 in", "3/8 in"), ("10 ft", "150 ft"), ("0.5 s", "8 s"),
                    ("cylinder_round_3_4_in", "cylinder_round_2_in"), ("1 gal", "20 gal")))


@pytest.mark.parametrize(("tube", "length", "rest", "cylinder", "tank"), GRID)
def test_a_scare_that_is_left_out_would_not_have_been_told(
    tube: str, length: str, rest: str, cylinder: str, tank: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = show(TUBE=tube, LENGTH=length, REST=rest, CYLINDER=cylinder, TANK=tank)
    late, left_out = told(text, monkeypatch)
    assert not (late and all(left_out))
    assert told(text)[0] == late


def test_the_grid_has_scares_of_both_sorts() -> None:
    kinds = {told(show(TUBE=tube, LENGTH=length, REST=rest, CYLINDER=cylinder, TANK=tank))
             [1][0] for tube, length, rest, cylinder, tank in GRID[::3]}
    assert kinds == {True, False}


def test_a_small_tank_that_four_runs_empty_is_told() -> None:
    """A wide line, and a little compressor on 1 gal: a run takes less than a tenth of what the line would pass, and all
    of it comes from the tank."""
    text = show(DELIVERS="0.5 scfm", TANK="1 gal", CYLINDER="cylinder_round_2_in", REST="2.5 s", TUBE="1/2 in",
                LOAD="130 lb, lifts 90 deg")
    late, left_out = told(text)
    assert late and left_out == [False]
