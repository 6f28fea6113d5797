"""The power goes at every write of an upload: the board comes up with the old program or the new one, or with none
where there was none.

Thousands more, over both boards, by `python -m tests.bench.firmware`.
"""

from __future__ import annotations

import pytest

from sequencer.steps import encode
from tests.firmware.bench.cuts import Upload, packets_of_flash, sweep
from tests.firmware.bench.programs import all_on, limited, one_pulse

OLD, NEW = encode(one_pulse(300)), encode(limited())


@pytest.mark.parametrize("old", [None, OLD], ids=["first upload", "replacing"])
def test_a_cut_at_any_write_leaves_the_old_program_or_the_new(old):
    upload = Upload("avr328", old, NEW)
    _, writes = packets_of_flash(upload)
    outcome = sweep(upload, 1, 1)
    assert outcome.bad == []
    assert outcome.cuts == 4 * writes
    assert outcome.ran["old"] > 0
    assert outcome.ran["new"] > 0


def test_a_second_cut_while_it_is_loaded_again_does_neither():
    upload = Upload("avr328", OLD, NEW)
    _, writes = packets_of_flash(upload)
    outcome = sweep(upload, 3, writes // 5, again=(2, writes // 6))
    assert outcome.bad == []
    assert outcome.cuts > 150


def test_the_judge_tells_a_board_that_runs_neither():
    """The same cuts, judged as if another program had been there before: all that ran the old one are bad."""
    outcome = sweep(Upload("avr328", OLD, NEW), 40, 100, judge=Upload("avr328", encode(all_on()), NEW))
    assert len(outcome.bad) == outcome.cuts > 0
