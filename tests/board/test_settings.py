"""The clock's trim in the memory: kept, corrected, and old or new wherever the power goes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.board.errors import BoardRefused
from sequencer.board.memory import ERASED, ByteMemory, PowerCut
from sequencer.board.settings import MOST_TRIM, TRIM_UNIT, corrected_trim, keep_trim, kept_trim

TRIMS = st.integers(-MOST_TRIM, MOST_TRIM)


def erased() -> ByteMemory:
    return ByteMemory(bytearray([ERASED]) * 1024)


def test_an_erased_memory_holds_no_trim():
    assert kept_trim(erased()) is None


@given(TRIMS, TRIMS)
def test_the_trim_kept_last_is_the_one_that_is_there(first, second):
    memory = erased()
    keep_trim(memory, first)
    keep_trim(memory, second)
    assert kept_trim(memory) == second


@given(TRIMS, TRIMS, st.integers(0, 7), st.integers(0, 255))
def test_a_cut_with_a_torn_byte_leaves_the_old_trim_or_the_new_one(old, new, at, torn):
    memory = erased()
    keep_trim(memory, old)
    left = at

    def cut(cells, address, value):
        nonlocal left
        if left == 0:
            cells[address] = torn
            raise PowerCut
        left -= 1

    memory.before_write = cut
    try:
        keep_trim(memory, new)
    except PowerCut:
        memory.before_write = None
    assert kept_trim(memory) in (old, new)


@given(TRIMS, st.floats(-0.006, 0.006))
def test_a_corrected_clock_is_right_to_half_a_unit(trim, error):
    corrected = corrected_trim(trim, error)
    # The clock counts (1 + error) ms a ms with the old length of its ticks.
    left = (1 + error) * (1 + trim * TRIM_UNIT) / (1 + corrected * TRIM_UNIT) - 1
    assert abs(left) < 0.51e-6


def test_a_board_keeps_a_trim_over_the_link_and_says_so(bench):
    link = bench.loaded()
    assert (link.trim().trim, link.trim().kept) == (0, False)
    assert link.trim(-4321).trim == -4321
    assert link.trim().kept


def test_a_board_refuses_a_trim_beyond_reason_and_any_while_it_is_armed(bench):
    link = bench.loaded()
    with pytest.raises(BoardRefused, match="out of range"):
        link.trim(MOST_TRIM + 1)
    link.arm()
    with pytest.raises(BoardRefused, match="is armed"):
        link.trim(1)
    assert not link.trim().kept
