"""What coils do for a way, against how the valve is drawn: ISO 1219-1 symbols, port names of ISO 11727.

Both from memory: with coil 14 on, port 1 feeds port 4 (here: the cap end, so out); with coil 12 on, port 2.
A spring at one end means that the spool goes there when its coil is off; a detent means it stays.
"""

from __future__ import annotations

from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.phrases import PinName
from sequencer.rig.cylinder import starts_at
from sequencer.rig.drive import Pulse, SetLevel
from sequencer.rig.valve import Valve, Way, coils, power_off_way

ONE, BACK = PinName("box", "out1"), PinName("box", "out2")

SINGLE = "on box out1, kind {ports}, without power {word}"
DOUBLE = "on box out1, back on box out2, kind 5/2, solenoids 2, without power stays, pulse 150 ms"
CENTRE = "on box out1, back on box out2, kind 5/3, solenoids 2, without power centre {word}"


class Spool:
    """A valve as drawn: a spool pushed by springs and coils. Ends `14` and `12`, the centre `0`."""

    def __init__(self, start: str, rest: str | None) -> None:
        self.place, self.rest = start, rest

    def energise(self, coil_14: bool, coil_12: bool) -> None:
        if coil_14 and not coil_12:
            self.place = "14"
        elif coil_12 and not coil_14:
            self.place = "12"
        elif self.rest is not None and not coil_14:
            self.place = self.rest


def moved(spool: Spool, drives: tuple[Any, ...]) -> str:
    """Where the spool is once the drives have been done in order and pulses are over."""
    level = {ONE: 0.0, BACK: 0.0}
    for drive in drives:
        level[drive.pin] = drive.level if isinstance(drive, SetLevel) else 1.0
        spool.energise(level[ONE] > 0, level[BACK] > 0)
    for drive in drives:
        if isinstance(drive, Pulse):
            level[drive.pin] = 0.0
    spool.energise(level[ONE] > 0, level[BACK] > 0)
    return spool.place


@pytest.mark.parametrize("start", ["14", "12"])
def test_a_double_solenoid_stays_where_its_pulse_put_it(make: Any, start: str) -> None:
    valve = make("valve", DOUBLE)
    assert moved(Spool(start, rest=None), coils(valve, "out")) == "14"
    assert moved(Spool(start, rest=None), coils(valve, "home")) == "12"
    assert moved(Spool(start, rest=None), coils(valve, "unpowered")) == start
    assert coils(valve, "out") == (SetLevel(BACK, 0.0), Pulse(ONE, 150_000))


def test_a_centred_valve_is_held_out_and_home_and_falls_back_to_its_centre(make: Any) -> None:
    valve = make("valve", CENTRE.format(word="exhausted"))
    assert moved(Spool("0", rest="0"), coils(valve, "out")) == "14"
    assert moved(Spool("14", rest="0"), coils(valve, "home")) == "12"
    for way in ("unpowered", "closed"):
        assert moved(Spool("14", rest="0"), coils(valve, way)) == "0"


@pytest.mark.parametrize(
    ("ports", "word", "energised"),
    [
        ("5/2", "retracts", "out"),
        ("5/2", "extends", "home"),
        ("3/2", "closed", "open"),
        ("3/2", "open", "closed"),
        ("2/2", "closed", "open"),
        ("2/2", "open", "closed"),
    ],
)
def test_a_single_coil_undoes_what_the_spring_does(make: Any, ports: str, word: str, energised: Way) -> None:
    valve = make("valve", SINGLE.format(ports=ports, word=word))
    assert coils(valve, energised) == (SetLevel(ONE, 1.0),)
    other = {"out": "home", "home": "out", "open": "closed", "closed": "open"}[energised]
    assert coils(valve, other) == coils(valve, "unpowered") == (SetLevel(ONE, 0.0),)


@pytest.mark.parametrize(
    ("line", "way"),
    [
        (SINGLE.format(ports="5/2", word="retracts"), "home"),
        (SINGLE.format(ports="5/2", word="extends"), "out"),
        (SINGLE.format(ports="3/2", word="closed"), "home"),
        (SINGLE.format(ports="3/2", word="open"), "out"),
        (SINGLE.format(ports="2/2", word="closed"), "stays"),
        (SINGLE.format(ports="2/2", word="open"), "out"),
        (DOUBLE, "stays"),
        (CENTRE.format(word="closed"), "stays"),
        (CENTRE.format(word="exhausted"), "free"),
        (CENTRE.format(word="pressurised"), "out"),
    ],
)
def test_where_a_cylinder_goes_when_power_fails(make: Any, line: str, way: str) -> None:
    valve = make("valve", line)
    assert power_off_way(valve) == way
    ram = make("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 300 mm")
    assert starts_at(ram, valve) == ("out" if way == "out" else "home")
    told = make("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 300 mm, starts out")
    assert starts_at(told, valve) == "out"


@given(st.sampled_from(["retracts", "extends", "closed", "open"]), st.sampled_from(get_args(Way)))
def test_power_off_and_unpowered_mean_the_same_way(word: Any, way: Way) -> None:
    valve = Valve(
        name="v", pin=ONE, ports="5/2" if word in ("retracts", "extends") else "3/2", unpowered=word
    )
    rests = power_off_way(valve)
    resting_coils = coils(valve, rests)
    assert resting_coils == coils(valve, "unpowered")
    outward = way in ("out", "open")
    if way != "unpowered" and outward != (rests == "out"):
        assert coils(valve, way) != resting_coils


@given(st.sampled_from(get_args(Way)), st.sampled_from([DOUBLE, CENTRE.format(word="closed")]))
def test_both_coils_are_never_on_at_once(way: Way, line: str) -> None:
    centred = "5/3" in line
    valve = Valve(
        name="v",
        pin=ONE,
        back_pin=BACK,
        ports="5/3" if centred else "5/2",
        solenoids=2,
        unpowered=None if centred else "stays",
        centre="closed" if centred else None,
    )
    drives = coils(valve, way)
    powered = [drive for drive in drives if isinstance(drive, Pulse) or drive.level > 0]
    assert len(powered) <= 1 and {drive.pin for drive in drives} == {ONE, BACK}
    assert not powered or drives[-1] is powered[0], "one coil is off before the other is on"
