"""The compiler's bound of a tick in cycles against the ticks of the shipped image, with the costs that ship.

After a change of the core: `python -m tests.bench.cycles --write`.
"""

from __future__ import annotations

import pytest

from sequencer.board.profiles import AVR328
from sequencer.steps.cycles import started_together
from tests.firmware.bench.bounds import compare, programs, random_ones, together
from tests.firmware.bench.meter import pin, ticks_of
from tests.firmware.bench.random_cases import demo_case

NAMED = {name: (program, ends) for name, program, ends in programs("avr328")}
REACHED = ("no scare", "one scare", "one scare that fades", "eight at once, with fades", "four that start as they end")
"""Programs with which all that the bound reckons with can be brought about in a few seconds."""


@pytest.mark.parametrize("name", NAMED)
def test_no_tick_takes_longer_than_the_bound(name):
    program, ends = NAMED[name]
    found = compare(name, program, "avr328", ends=ends)
    assert found.measured <= found.bound
    if name in REACHED:
        assert found.bound <= 1.3 * found.measured, str(found)


def test_no_tick_of_the_demo_takes_longer_than_the_bound():
    """It is far below: that all fourteen props start, end and fade in one millisecond cannot be brought about."""
    found = compare("the demo", demo_case().program, "avr2560", rounds=6)
    assert found.measured <= found.bound


RANDOM = dict(random_ones("avr328", 12))


@pytest.mark.parametrize("name", RANDOM)
def test_no_tick_of_a_random_program_takes_longer_than_the_bound(name):
    found = compare(name, RANDOM[name], "avr328", rounds=6)
    assert found.measured <= found.bound, str(found)


def test_what_one_trigger_starts_takes_what_is_reckoned():
    """The figure of finding B006, at what is its least: four that start together, and at eight."""
    costs = AVR328.costs
    assert costs is not None
    for count in (4, 8):
        program = together("avr328", count, 40)
        (one,) = started_together(program, AVR328.limits, costs)
        quiet = dict(one.bound.parts)["the link"]
        measured = max(ticks_of(program, "avr328", {0: [pin(0, False)]}, 3))
        assert measured <= one.bound.cycles - quiet <= 1.3 * measured
