"""Numbers and times as bytes, and the random generator."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.steps.random32 import Random32
from sequencer.steps.varint import VARINT_MOST, read_time, read_varint, write_time, write_varint

# DWARF Debugging Information Format, version 5, section 7.6, examples of unsigned LEB128.
DWARF_EXAMPLES = [(2, "02"), (127, "7f"), (128, "8001"), (129, "8101"), (12857, "b964")]


@pytest.mark.parametrize(("value", "octets"), DWARF_EXAMPLES)
def test_numbers_are_written_as_the_dwarf_standard_shows(value: int, octets: str) -> None:
    assert write_varint(value).hex() == octets
    assert read_varint(bytes.fromhex(octets), 0) == (value, len(octets) // 2)


@given(st.integers(0, VARINT_MOST))
def test_a_number_reads_back_and_takes_no_byte_too_many(value: int) -> None:
    octets = write_varint(value)
    assert read_varint(octets + b"\xff", 0) == (value, len(octets))
    assert len(octets) == max(1, -(-value.bit_length() // 7))


@pytest.mark.parametrize("octets", ["80", "8000", "8080808001", "ffffffff7f", ""])
def test_a_number_cut_off_too_long_or_padded_is_refused(octets: str) -> None:
    with pytest.raises(ValueError, match="a number"):
        read_varint(bytes.fromhex(octets), 0)


@pytest.mark.parametrize("value", [-1, VARINT_MOST + 1])
def test_a_number_that_does_not_fit_is_refused(value: int) -> None:
    with pytest.raises(ValueError, match="does not fit"):
        write_varint(value)


# Worked out by hand from LAYOUT.md: a byte of 50 ms, 15 bits of 1 ms, and a varint behind FF.
TIMES = [
    (0, "00"), (50, "01"), (6350, "7f"), (1, "8001"), (6400, "9900"), (6351, "98cf"), (32511, "feff"),
    (32512, "ff80fe01"), (20_000, "ce20"), (90_000, "ff90bf05"), (VARINT_MOST, "ffffffff7f"),
]  # fmt: skip


@pytest.mark.parametrize(("ticks", "octets"), TIMES)
def test_a_time_is_written_as_the_layout_says(ticks: int, octets: str) -> None:
    assert write_time(ticks).hex() == octets
    assert read_time(bytes.fromhex(octets), 0) == (ticks, len(octets) // 2)


@given(st.one_of(st.integers(0, VARINT_MOST), st.integers(0, 700).map(lambda n: n * 50), st.integers(32_400, 32_600)))
def test_a_time_reads_back_and_takes_the_bytes_it_must(ticks: int) -> None:
    octets = write_time(ticks)
    assert read_time(octets + b"\xff", 0) == (ticks, len(octets))
    if ticks <= 6350 and ticks % 50 == 0:
        assert len(octets) == 1
    else:
        assert len(octets) == (2 if ticks <= 32_511 else 1 + len(write_varint(ticks)))


@given(st.binary(max_size=6))
def test_no_two_rows_of_bytes_are_the_same_time(data: bytes) -> None:
    try:
        ticks, after = read_time(data, 0)
    except ValueError:
        return
    assert write_time(ticks) == data[:after]


@pytest.mark.parametrize("octets", ["", "80", "8000", "8032", "ff", "ff32", "ffff7e", "ff8080808001"])
def test_a_time_cut_off_too_long_or_padded_is_refused(octets: str) -> None:
    with pytest.raises(ValueError, match=r"a (time|number)"):
        read_time(bytes.fromhex(octets), 0)


@pytest.mark.parametrize("ticks", [-1, -50, VARINT_MOST + 1])
def test_a_time_that_does_not_fit_is_refused(ticks: int) -> None:
    with pytest.raises(ValueError, match="does not fit"):
        write_time(ticks)


def test_the_generator_gives_marsaglias_sequence() -> None:
    # G. Marsaglia, "Xorshift RNGs", J. Stat. Software 8 (14), 2003: triple 13, 17, 5, his seed 2463534242;
    # the first words from memory, as implementations of the paper print them.
    draws = Random32(2463534242)
    assert [draws.next() for _ in range(5)] == [723471715, 2497366906, 2064144800, 2008045182, 3532304609]


def test_the_generator_has_the_full_period_that_the_paper_claims() -> None:
    """The period is 2**32 - 1 and no divisor of it: checked on the generator as a matrix over GF(2)."""
    step = [Random32(1 << bit).next() for bit in range(32)]
    full = 2**32 - 1
    identity = [1 << bit for bit in range(32)]
    assert _power(step, full) == identity
    for prime in (3, 5, 17, 257, 65537):
        assert _power(step, full // prime) != identity


def _times(a: list[int], b: list[int]) -> list[int]:
    return [_apply(a, column) for column in b]


def _apply(matrix: list[int], vector: int) -> int:
    out = 0
    for bit in range(32):
        if vector >> bit & 1:
            out ^= matrix[bit]
    return out


def _power(matrix: list[int], exponent: int) -> list[int]:
    result = [1 << bit for bit in range(32)]
    while exponent:
        if exponent & 1:
            result = _times(result, matrix)
        matrix = _times(matrix, matrix)
        exponent >>= 1
    return result


@given(st.integers(0, 2**32 - 1), st.integers(1, 1 << 28))
def test_a_draw_is_below_its_bound_and_needs_32_bits_only(seed: int, n: int) -> None:
    draws = Random32(seed)
    drawn = draws.below(n)
    upper = draws.state >> 16
    assert 0 <= drawn < n
    assert drawn == upper * (n >> 16) + (upper * (n & 0xFFFF) >> 16)
    assert max(upper * (n >> 16), upper * (n & 0xFFFF)) < 1 << 32


def test_a_seed_of_zero_is_replaced() -> None:
    assert Random32(0).state != 0
    assert Random32(1 << 32).state != 0
