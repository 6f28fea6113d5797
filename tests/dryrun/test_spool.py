"""Coils into ways. What each kind of valve does is as the symbols of ISO 1219-1 have it (from memory)."""

from __future__ import annotations

import pytest

from sequencer.dryrun.spool import Spool, SpoolPlan
from tests.dryrun.yards import valve


def spool(ports: str = "5/2", **said: object) -> Spool:
    made = valve(ports, **said)
    return Spool(SpoolPlan("window.shove", made, 1, 2 if made.back_pin else None))


@pytest.mark.parametrize(
    ("ports", "unpowered", "off", "on"),
    [
        ("5/2", "retracts", "home", "out"),
        ("5/2", "extends", "out", "home"),
        ("3/2", "closed", "home", "out"),
        ("3/2", "open", "out", "home"),
        ("2/2", "closed", "holds", "out"),
        ("2/2", "open", "out", "holds"),
    ],
)
def test_a_valve_with_one_coil_does_one_thing_off_and_the_other_on(
    ports: str, unpowered: str, off: str, on: str
) -> None:
    one = spool(ports, unpowered=unpowered)
    assert one.way == off
    assert one.coils_at(10, True, False) == on
    assert one.coils_at(900, False, False) == off


def test_a_double_solenoid_stays_where_the_last_pulse_put_it() -> None:
    one = spool(solenoids=2)
    assert one.way == "home"
    assert one.coils_at(100, True, False) == "out"
    assert one.coils_at(300, False, False) == "out"
    assert one.coils_at(60_000, False, True) == "home"
    assert one.coils_at(60_200, False, False) == "home"


def test_a_double_solenoid_ignores_a_pulse_too_short_to_bring_it_over() -> None:
    """It answers in 20 ms and shifts in 6: 25 ms are too short, 26 ms are enough."""
    one = spool(solenoids=2)
    one.coils_at(100, True, False)
    assert one.coils_at(125, False, False) == "home"
    one.coils_at(200, True, False)
    assert one.coils_at(226, False, False) == "out"


def test_both_coils_at_once_move_no_double_solenoid() -> None:
    one = spool(solenoids=2)
    one.coils_at(100, True, False)
    assert one.coils_at(200, True, True) == "out"
    assert one.coils_at(300, False, True) == "home"


@pytest.mark.parametrize(
    ("centre", "off"), [("closed", "holds"), ("exhausted", "vented"), ("pressurised", "fed")]
)
def test_a_valve_with_a_centre_goes_there_without_power(centre: str, off: str) -> None:
    one = spool("5/3", solenoids=2, centre=centre)
    assert one.way == off
    assert one.coils_at(10, True, False) == "out"
    assert one.coils_at(20, False, True) == "home"
    assert one.coils_at(30, False, False) == off
    assert one.coils_at(40, True, True) == off
