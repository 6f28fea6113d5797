"""What a table of published figures is made of: one row a figure, its source beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

PSI = 6894.757293168
INCH = 0.0254
FOOT3 = (12 * INCH) ** 3
GALLON = 231 * INCH**3
ATMOSPHERE_147 = 14.7 * PSI
"""One atmosphere as the handbooks in inches round it."""
RANKINE = 5 / 9
BAR = 1e5
DM3_S_BAR = 1e-8
LITRES_A_MINUTE = 60_000


@dataclass(frozen=True, slots=True)
class Row:
    """`ours` computes it, `expected` stands in the source, `rel` is the tolerance that the figure deserves."""

    name: str
    ours: Callable[[], float]
    expected: float
    rel: float
    source: str


def cases(rows: tuple[Row, ...]) -> list[object]:
    """One test a row, called by its name."""
    return [pytest.param(row, id=row.name) for row in rows]


def hold(row: Row) -> None:
    """The figure is met, or the test says whose it was."""
    ours = row.ours()
    assert ours == pytest.approx(row.expected, rel=row.rel, abs=0), f"{row.name}: {ours}; {row.source}"
