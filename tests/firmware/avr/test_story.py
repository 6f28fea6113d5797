"""Random programs told to the AVR image and to the rules in Python: every edge in the same tick.

Fifty here; as many as one likes by `python -m tests.bench.firmware`.
"""

from __future__ import annotations

import random

import pytest

from sequencer.board.profiles import AVR2560
from sequencer.steps import encode
from tests.firmware.bench.play import edges_by_board, edges_by_rules, first_difference, seed_of
from tests.firmware.bench.random_cases import avr_case, demo_case

CASES = 50


@pytest.mark.parametrize("number", range(CASES))
def test_a_random_program_has_its_edges_in_the_ticks_the_rules_say(number):
    board = "avr2560" if number % 10 == 9 else "avr328"
    case = avr_case(number, board)
    rules = edges_by_rules(case.program, case.seed, case.deeds, case.until, board)
    played = edges_by_board(case.program, case.deeds, case.until, board)
    assert played.overruns == 0
    assert first_difference(rules, played.edges) is None


def test_the_cases_make_edges_and_aim_at_what_happens():
    """What the test above rests on: hardly any case is without edges, and links carry requests in most."""
    draws = [avr_case(number, "avr328") for number in random.Random(3).sample(range(CASES), 6)]
    counts = [len(edges_by_rules(case.program, case.seed, case.deeds, case.until, "avr328")) for case in draws]
    assert sum(count > 5 for count in counts) >= 4


def test_the_demo_show_has_its_edges_in_the_ticks_the_rules_say():
    case = demo_case()
    assert case.program.board == AVR2560.kind
    assert seed_of("avr2560", case.program) == case.seed
    rules = edges_by_rules(case.program, case.seed, case.deeds, case.until, "avr2560")
    played = edges_by_board(case.program, case.deeds, case.until, "avr2560")
    assert len(rules) > 50
    assert first_difference(rules, played.edges) is None
    assert len(encode(case.program)) <= AVR2560.limits.program_bytes
