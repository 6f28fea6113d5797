"""The board's random numbers: xorshift32, small enough for an 8-bit board and replayed from its logged state.

Generator: G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8 (14), 2003, the triple 13, 17, 5.
"""

from __future__ import annotations

_WORD = 0xFFFFFFFF
_INSTEAD_OF_ZERO = 0x2545F491
"""A state of 0 would stay 0 for ever; any other word would do."""


class Random32:
    """A stream of draws; `state` is all there is to it, and never 0.

    A seed is the state as it stands, so that a logged state replays. The first draws of small seeds are
    small: `stir` a number that a person chose.
    """

    __slots__ = ("state",)

    def __init__(self, seed: int) -> None:
        self.state = seed & _WORD or _INSTEAD_OF_ZERO

    def next(self) -> int:
        """The next 32-bit word, which is also the new state."""
        x = self.state
        x ^= x << 13 & _WORD
        x ^= x >> 17
        x ^= x << 5 & _WORD
        self.state = x
        return x

    def below(self, n: int) -> int:
        """A draw from 0 to n - 1, n at most 2**28: (upper 16 bits of the next word) * n / 65536, rounded
        down.

        Above 65536 not every number can come out: a span of 10 min is drawn in steps of about 9 ms.
        """
        return (self.next() >> 16) * n >> 16


def stir(number: int) -> int:
    """A seed with all 32 bits at work, from a number that a person chose.

    The last step of the hash MurmurHash3 (A. Appleby, 2011, public domain): every bit in moves half the bits out.
    """
    x = number & _WORD
    x = ((x ^ x >> 16) * 0x85EBCA6B) & _WORD
    x = ((x ^ x >> 13) * 0xC2B2AE35) & _WORD
    return x ^ x >> 16
