"""The board's own settings in the last bytes of its memory: how its clock is corrected. Values in, values out.

Kept twice, one copy after the other, each with its check, so that a power cut between leaves the old or the new:

    0  trim u16   length of a tick: units of 2^-20 of it added, two's complement
    2  check u16  CRC-16/X-25 over bytes 0 to 1, each bit turned over: else erased bytes would pass
    4  the same again

A copy whose check is wrong counts for nothing; with neither, the clock is as the crystal or the resonator makes it.
"""

from __future__ import annotations

from sequencer.board.framing import crc16_x25
from sequencer.board.memory import Memory
from sequencer.board.profiles import SETTINGS_BYTES

TRIM_UNIT = 2.0**-20
"""What a trim of 1 adds to a tick, as a share of it: 0.95 ppm."""
MOST_TRIM = 16_384
"""The most of it, either way: 1.6 %. A ceramic resonator is off by up to about 0.5 % (from memory)."""
TRIM_COPIES = 2
TRIM_COPY_BYTES = 4


def kept_trim(memory: Memory) -> int | None:
    """The trim that the memory holds, -MOST_TRIM to MOST_TRIM, or None where it holds none."""
    for copy in range(TRIM_COPIES):
        start = _copy_at(memory, copy)
        record = bytes(memory.read(start + n) for n in range(TRIM_COPY_BYTES))
        trim = int.from_bytes(record[:2], "little", signed=True)
        if _check(record[:2]) == record[2:] and abs(trim) <= MOST_TRIM:
            return trim
    return None


def keep_trim(memory: Memory, trim: int) -> None:
    """Writes the trim, only bytes that differ. The caller has checked that it is within MOST_TRIM."""
    value = trim.to_bytes(2, "little", signed=True)
    record = value + _check(value)
    for copy in range(TRIM_COPIES):
        for n, byte in enumerate(record):
            if memory.read(_copy_at(memory, copy) + n) != byte:
                memory.write(_copy_at(memory, copy) + n, byte)


def corrected_trim(trim: int, error: float) -> int:
    """The trim for a clock that with `trim` runs fast by `error` (a share; negative: slow).

    Ticks are to become longer by what the clock is fast: (1 + new) = (1 + old) * (1 + error).

    >>> corrected_trim(0, 0.005)
    5243
    >>> corrected_trim(5243, -0.005) in (-27, -26)
    True
    """
    return round(((1 + trim * TRIM_UNIT) * (1 + error) - 1) / TRIM_UNIT)


def _check(value: bytes) -> bytes:
    return (crc16_x25(value) ^ 0xFFFF).to_bytes(2, "little")


def _copy_at(memory: Memory, copy: int) -> int:
    return memory.size - SETTINGS_BYTES + copy * TRIM_COPY_BYTES
