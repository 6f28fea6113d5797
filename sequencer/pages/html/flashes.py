"""Lamps over a run -> when they flash faster than three times a second, and the steady level that can stand for it.

The rule is that of WCAG 2.2, success criterion 2.3.1, and its "general flash": a pair of opposing changes by a tenth of
full brightness or more, the darker below 0.8; more than three in any one second are too many. A beginning is counted
for each, which is a little stricter. The level of a lamp is taken for its brightness (assumed), and how large it is in
what a guest sees is not known. Lamps of one prop are looked at one by one and together.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sequencer.dryrun.timeline import Device, Timeline
from sequencer.pages.terminal_sample import Line, levels_of
from sequencer.steps.events import OutputEdge

MOST, SECOND = 3, 1000
CHANGE, DARKER = 0.1, 0.8

Corner = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Fast:
    """From `begin` to `end` (ticks) a lamp flashes up to `most` times in a second; `level` (0 to 1) is its mean."""

    begin: int
    end: int
    most: int
    level: float


def fast_flashes(timeline: Timeline) -> dict[str, list[Fast]]:
    """By lamp, its fast stretches in order: its own, and those of its prop in which it changes."""
    edges: dict[int, list[OutputEdge]] = defaultdict(list)
    for edge in timeline.edges:
        edges[edge.output].append(edge)
    lamps = {one.device: levels_of(edges[one.index], one.safe) for one in timeline.yard.outputs
             if one.kind is Device.LAMP}
    props: dict[str, list[str]] = defaultdict(list)
    for name in lamps:
        props[name.rpartition(".")[0]].append(name)
    stretches: dict[str, list[tuple[int, int, int]]] = {
        name: too_fast(beginnings([(t, v / 255) for t, v in line.corners])) for name, line in lamps.items()
    }
    for names in props.values():
        if len(names) > 1:
            together = too_fast(beginnings(summed([lamps[name].corners for name in names])))
            for name in names:
                stretches[name] = merged([*stretches[name], *together])
    return {
        name: [Fast(begin, end, most, mean(lamps[name], begin, end)) for begin, end, most in rows]
        for name, rows in stretches.items() if rows
    }


def beginnings(corners: Sequence[Corner]) -> list[int]:
    """Ticks at which a rise of a tenth or more from below 0.8 begins that comes after a fall, or before one.

    >>> beginnings([(0, 0.0), (100, 0.0), (100, 1.0), (200, 1.0), (200, 0.0), (300, 0.0), (300, 0.05)])
    [100]
    """
    found: list[int] = []
    low = high = corners[0][1] if corners else 0.0
    low_at = corners[0][0] if corners else 0
    rising = False
    for tick, level in corners:
        if rising:
            if level > high:
                high = level
            elif high - level >= CHANGE:
                rising, low, low_at = False, level, tick
        elif level <= low:
            low, low_at = level, tick
        elif level - low >= CHANGE:
            if low < DARKER:
                found.append(round(low_at))
            rising, high = True, level
    return found


def too_fast(begins: Sequence[int]) -> list[tuple[int, int, int]]:
    """(begin, end, most in one second) of every stretch with more than three beginnings in a second.

    >>> too_fast([0, 500, 1000, 1500]), too_fast([0, 200, 400, 600, 5000])
    ([], [(0, 600, 4)])
    """
    rows = []
    for first, tick in enumerate(begins):
        last = bisect_left(begins, tick + SECOND) - 1
        if last - first + 1 > MOST:
            rows.append((tick, begins[last], last - first + 1))
    return merged(rows)


def merged(rows: Iterable[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Stretches that touch, as one with the greater count."""
    found: list[tuple[int, int, int]] = []
    for begin, end, most in sorted(rows):
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]), max(most, found[-1][2]))
        else:
            found.append((begin, end, most))
    return found


def summed(lines: Sequence[Sequence[Corner]]) -> list[Corner]:
    """The mean brightness of several lamps, 0 to 1, before and after each corner of any of them.

    A fade counts as a jump at its end here, so lamps that fade in turn may count as more change than there is.
    """
    moves: dict[float, list[tuple[int, float]]] = defaultdict(list)
    for number, corners in enumerate(lines):
        for tick, level in corners:
            moves[tick].append((number, level))
    now = [corners[0][1] if corners else 0.0 for corners in lines]
    found = []
    for tick in sorted(moves):
        found.append((tick, sum(now) / (255 * len(lines))))
        for number, level in moves[tick]:
            now[number] = level
        found.append((tick, sum(now) / (255 * len(lines))))
    return found


def mean(line: Line, begin: int, end: int, parts: int = 50) -> float:
    """The mean level of a lamp, 0 to 1."""
    return sum(line.at(begin + (end - begin) * part / parts) for part in range(parts)) / (255 * parts)


def worst_of(fast: Mapping[str, Sequence[Fast]]) -> tuple[str, Fast] | None:
    """The lamp that flashes fastest, and when."""
    every = [(one.most, name, one) for name, rows in fast.items() for one in rows]
    if not every:
        return None
    _, name, one = max(every, key=lambda row: (row[0], -row[2].begin))
    return name, one
