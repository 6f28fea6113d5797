"""How long mends are searched for, counted in characters that are read in trials of a change.

A search takes time by the square of a line's length, so a line and a file have a bound each.
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_OF_A_FILE = 1_000_000
MOST_OF_A_LINE = 50_000
"""All trials of a line of 200 characters, the likeliest ones of one of 2,000."""


@dataclass(slots=True)
class Patience:
    """What is left of it for a file."""

    left: int = MOST_OF_A_FILE

    def of_a_line(self) -> int:
        return min(self.left, MOST_OF_A_LINE)
