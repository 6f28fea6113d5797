"""Two dry runs, as the pages hold them -> what moved and by how much, and the other's lanes below those that differ.

Lanes go together by their keys, and what happens in them in order: the second motion out of a rod with its second. So
a run with one more start of a scare moves all that comes after it, which is what a builder wants to see.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

Happening = tuple[str, int]

DRAWN = ("asked", "spans", "curve", "second", "edges")
"""What of a lane is drawn, and has to differ for the other run's lane to be shown below it."""
BESIDE = ("grain", "moves", "waits", "words", "idle", "drives", "unit", "low", "high", "ticks", "limits")


@dataclass(frozen=True, slots=True)
class Other:
    """The run to compare with: what to call it, and its data as a page holds it."""

    name: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that moved. Ticks; None: it does not happen in that run."""

    who: str
    what: str
    before: int | None
    now: int | None

    @property
    def moved(self) -> str:
        if self.before is None:
            return "new"
        if self.now is None:
            return "gone"
        off = self.now - self.before
        return f"{abs(off)} ms {'later' if off > 0 else 'earlier'}"

    @property
    def far(self) -> float:
        """For the order of the table: what came or went, then what moved farthest."""
        return float("inf") if self.before is None or self.now is None else abs(self.now - self.before)


def compared(data: dict[str, Any], other: Other) -> list[Change]:
    """The changes, the farthest first; puts the other's lanes into those that differ from them, as `was`."""
    mine = {lane["key"]: lane for group in data["groups"] for lane in group["lanes"]}
    theirs = {lane["key"]: lane for group in other.data["groups"] for lane in group["lanes"]}
    changes: list[Change] = []
    for key in [*mine, *(key for key in theirs if key not in mine)]:
        now, was = mine.get(key), theirs.get(key)
        who = (now or was or {}).get("of", key)
        changes += _changes(who, happenings(was), happenings(now))
        if now is not None and was is not None and any(now.get(name) != was.get(name) for name in DRAWN):
            now["was"] = {name: was[name] for name in (*DRAWN, *BESIDE) if name in was}
    return sorted(changes, key=lambda change: (-change.far, change.before if change.now is None else change.now))


def _changes(who: str, before: Mapping[str, list[int]], now: Mapping[str, list[int]]) -> Iterator[Change]:
    for what in dict.fromkeys([*before, *now]):
        rows = list(zip_longest(before.get(what, ()), now.get(what, ())))
        for number, (was, comes) in enumerate(rows, 1):
            if was != comes:
                yield Change(who, f"{what} ({_nth(number)} time)" if len(rows) > 1 else what, was, comes)


def happenings(lane: Mapping[str, Any] | None) -> dict[str, list[int]]:
    """What happens in a lane, by what it is called: the ticks, in order."""
    found: dict[str, list[int]] = {}
    for what, tick in _told(lane) if lane is not None else ():
        found.setdefault(what, []).append(tick)
    return found


def _told(lane: Mapping[str, Any]) -> Iterator[Happening]:
    kind = lane["kind"]
    if kind == "rod":
        for begin, end, out, cut in spans(lane["moves"], 4):
            way = "out" if out else "home"
            yield f"leaves, going {way}", begin
            yield (f"is turned back on its way {way}" if cut else f"arrives {way}"), end
    elif kind == "scare" and not lane.get("idle"):
        for begin, end, cut in spans(lane["spans"], 3):
            yield "starts", begin
            yield ("is cut off" if cut else "ends"), end
    elif kind == "sensor":
        for begin, end in spans(lane["spans"], 2):
            yield "trips", begin
            yield "clears", end
    elif kind == "speaker":
        for begin, _, _, word in spans(lane["spans"], 4):
            yield f"plays {lane['words'][word]}", begin
    elif kind == "switched":
        for begin, end in spans(lane["asked"], 2):
            yield "runs", begin
            yield "stops", end
    elif kind == "valve" and not lane.get("drives"):
        for begin, end, _ in spans(lane["asked"], 3):
            yield "opens", begin
            yield "closes", end
    elif kind == "lamp":
        yield from _lamp(lane["edges"])


def _lamp(edges: list[int]) -> Iterator[Happening]:
    tick, was = 0, 0
    for at in range(0, len(edges), 3):
        tick += edges[at]
        level = edges[at + 1]
        if at and (level == 0) != (was == 0):
            yield ("goes on" if level else "goes off"), tick
        was = level


def spans(flat: list[int], width: int) -> Iterator[tuple[int, ...]]:
    """(gap, length, more...) as (begin, end, more...).

    >>> list(spans([100, 50, 1, 10, 40, 0], 3))
    [(100, 150, 1), (160, 200, 0)]
    """
    last = 0
    for at in range(0, len(flat), width):
        begin = last + flat[at]
        last = begin + flat[at + 1]
        yield (begin, last, *flat[at + 2 : at + width])


def _nth(number: int) -> str:
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
