"""The show of the demo, with the same triggers: the same edges and the same log in both sets of rules."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace

import pytest

from sequencer.checks.pipeline import check_file
from sequencer.steps import InputKind, Program, encode
from sequencer.steps.story import Call, Deed
from tests.firmware.core.bench import ROOT, Board, limits_of, tell_python

NIGHT = 300_000
"""Ticks: five minutes, in which every scare of the show is tripped many times."""


@pytest.fixture(scope="module")
def demo() -> Program:
    checked = check_file(ROOT / "shows" / "marrow_lane" / "marrow_lane.show")
    assert checked.compiled is not None
    return checked.compiled.program


def visitors(program: Program, seed: int) -> tuple[Deed, ...]:
    """People come by: sensors trip and clear, now and then a stop, an alarm, a hand at the laptop."""
    draws = random.Random(seed)
    deeds = [Deed(0, Call.SET_INPUT, (i, int(row.low_when_tripped))) for i, row in enumerate(program.inputs)]
    deeds.append(Deed(100, Call.ARM))
    tick = 400
    while tick < NIGHT - 10_000:
        index = draws.randrange(len(program.inputs))
        row = program.inputs[index]
        if row.kind is InputKind.STOP and draws.random() < 0.8:
            continue
        holds = draws.choice((3, 60, 400, 2500))
        tripped = int(not row.low_when_tripped)
        deeds += [
            Deed(tick, Call.SET_INPUT, (index, tripped)),
            Deed(tick + holds, Call.SET_INPUT, (index, 1 - tripped)),
        ]
        deeds += [Deed(tick + holds + 30, Call.RESET_ALARM), Deed(tick + holds + 30, Call.ARM)]
        if row.kind is InputKind.ALARM:  # somebody works a stop, and the alarm is reset
            stop, pin = next((i, one) for i, one in enumerate(program.inputs) if one.kind is InputKind.STOP)
            over, low = tick + holds, int(pin.low_when_tripped)
            worked = ((over + 100, 1 - low), (over + 200, low))
            deeds += [Deed(at, Call.SET_INPUT, (stop, level)) for at, level in worked]
            deeds += [Deed(over + 300, Call.RESET_ALARM), Deed(over + 300, Call.ARM)]
            tick += 300
        tick += holds + draws.choice((40, 900, 6000))
    return tuple(sorted(deeds, key=lambda deed: (deed.tick, deed.call is not Call.SET_INPUT)))


@pytest.mark.parametrize("seed", range(1, 7))
def test_the_show_of_the_demo_comes_out_the_same(boards: Mapping[int, Board], demo: Program, seed: int) -> None:
    limits = replace(limits_of(8), program_bytes=2016)
    story = visitors(demo, seed)
    want = tell_python(demo, limits, seed, story, NIGHT)
    got = boards[8].play(encode(demo), seed, story, NIGHT)
    assert got == want
    assert len(want.edges) > 500
    assert len({edge[1] for edge in want.edges}) > 5
