"""Several linkages on one rod -> one function for the acceleration of the rod, from a table of all of them together.

What `driven.acceleration_of` asks of a mechanism piece by piece, with sines and roots, a motion asks hundreds of times.
A mechanism is tabled once: cubics of its mass, its load, and the load of each piece that eats a share of the push.
Where even a fine table is off by more than `ENOUGH`, or its mass falls below 0, there is none, and the pieces are
asked themselves. Whether a rope goes slack is left to who asks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sequencer.air.mechanism.linkage import Linkage, Terms
from sequencer.air.mechanism.table import TabledLinkage, tabled
from sequencer.frozen import frozen

CELLS = 64, 256
"""What is tried, one after the other; four times the cells, a 256th of the error."""
ENOUGH = 2e-5
"""Largest error of mass or load, as a share of the greatest on the stroke. In an arrival it is a tenth of that or so,
and the solver leaves 2e-4 (measured on the demo)."""
LEAST_KG = -1e-6
"""What a table may give as the mass where that of the pieces is 0, as of a rocker that turns back: the rod has more."""

Acceleration = Callable[[float, float, int, float], float]
"""a(x, v, mode, push) in m/s2: see `driven.acceleration_of`."""


@frozen
class HotTable:
    """`cells` hold four factors each of mass and load, and of the own load of each piece in `shares`, the part of the
    push that it eats; in powers of the share of a cell. `rubs_n` is what always rubs."""

    cells: tuple[tuple[float, ...], ...]
    per_m: float
    shares: tuple[float, ...]
    rubs_n: float


@frozen
class _Sum:
    """Pieces as one, over the way of all of them."""

    pieces: tuple[Linkage, ...]
    out_m: float
    rubs_n: float = 0.0
    share: float = 0.0

    def terms(self, x_m: float) -> Terms:
        mass = half = load = 0.0
        for piece in self.pieces:
            m, h, q = piece.terms(x_m)
            mass, half, load = mass + m, half + h, load + q
        return mass, half, load

    def end_at(self, x_m: float) -> None:
        return None


def hot_table(pieces: Sequence[Linkage], out_m: float) -> HotTable | None:
    """The table of these pieces on one rod; None where it would not do.

    >>> from sequencer.air.mechanism.straight import StraightLoad
    >>> table = hot_table([StraightLoad(2.0, rubs_n=3.0)], 0.3)
    >>> acceleration_by(table, 1.0)(0.1, 0.5, 1, 33.0)  # 33 N, less 3 N of friction, on 3 kg
    10.0
    """
    eating = [piece for piece in pieces if piece.share != 0]
    found = next(filter(None, (_tables([tuple(pieces), *((piece,) for piece in eating)], out_m, cells)
                               for cells in CELLS)), None)
    if found is None:
        return None
    whole, *own = found
    cells = tuple(sum((table.cells[at][4:] for table in own), cell) for at, cell in enumerate(whole.cells))
    return HotTable(cells, whole.per_m, tuple(piece.share for piece in eating), sum(piece.rubs_n for piece in pieces))


def _tables(groups: Sequence[tuple[Linkage, ...]], out_m: float, cells: int) -> list[TabledLinkage] | None:
    try:
        tables = [tabled(_Sum(group, out_m), cells, LEAST_KG) for group in groups]
    except ValueError:
        return None
    return [table for table, _ in tables] if max(error for _, error in tables) <= ENOUGH else None


def acceleration_by(table: HotTable, rod_kg: float) -> Acceleration:
    """What `driven.acceleration_of` makes of the pieces, by the table."""
    cells, per_m, halved, rubs_n = table.cells, table.per_m, 0.5 * table.per_m, table.rubs_n
    last, eating = len(cells) - 1, tuple((share, 8 + 4 * at) for at, share in enumerate(table.shares))

    def acceleration(x: float, v: float, mode: int, push: float) -> float:
        place = x * per_m
        index = int(place)
        if place < 0.0:
            place = 0.0
            index = 0
        elif index > last:
            index = last
            place = last + 1.0
        cell = cells[index]
        t = place - index
        _, m1, m2, m3, q0, q1, q2, q3 = cell[:8]
        load = q0 + t * (q1 + t * (q2 + t * q3))
        friction = rubs_n
        for share, at in eating:
            own = cell[at] + t * (cell[at + 1] + t * (cell[at + 2] + t * cell[at + 3]))
            beside = push - load + own
            own = own if own > 0.0 else -own
            beside = beside if beside > 0.0 else -beside
            friction += share * (own if own > beside else beside)
        left = push - load - friction if mode > 0 else push - load + friction
        return ((left - halved * (m1 + t * (2.0 * m2 + 3.0 * t * m3)) * v * v)
                / (rod_kg + cell[0] + t * (m1 + t * (m2 + t * m3))))

    return acceleration
