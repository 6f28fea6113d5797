"""What a prop is to do -> the standard parts that do it with margin, each proved by reckoning its strokes.

For every bore the thinnest tube and the smallest valve that are enough; ranked by the free air of out and back. Enough
is: load and friction leave the margin of force both ways, the rod does not buckle, the valve has its pilot pressure,
and with open needles the rod arrives in time even where seals, pressure and valve are as bad as may be. A needle then
slows it to the time wanted. Where nothing is enough, `nearest` says what would be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from sequencer.air.fit import arrival_s
from sequencer.air.force import LOAD_RATIO_MOVING
from sequencer.air.from_rig import Described, Toward, Unknowns
from sequencer.air.spread import UNTIMED
from sequencer.sizing.given import Given, Reach, given
from sequencer.sizing.judge import Kind, Remark, remarks
from sequencer.sizing.made import Unfit
from sequencer.sizing.shelves import VALVES, Parts, System, cylinders, sets_with
from sequencer.sizing.strokes import Strokes, described, force_of, strokes
from sequencer.units import UNITS, Quantity, rounded

BAD = Unknowns(1.0, 1.0, UNTIMED.friction, UNTIMED.delay, 1 / UNTIMED.flow)
"""Open needles, and seals, valve and flow each at the bad end of what a builder cannot know (see `air.spread`). Parts
must be in time with all of it at once, and with so much less pressure."""
LATE = 1.2
"""A rod is waited for so many times as long as it may take."""
NEEDLE = 5, 100
"""Settings that a needle is advised at, in per cent; further shut it sticks and slips (assumed)."""
REFUSED: tuple[Kind, ...] = ("never moves", "never arrives", "little margin", "pilot starved", "rod buckles")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A load moved a way in a time, from the command to the arrival. `back` None: the way back may take its time.

    `drives`: by kind, each part on the rod in the phrases of the rig; without one the rod itself `moves` something.
    `share`: how much of all that is moved and carried is, for who asks what a lighter load would do.
    """

    moves: Quantity | None
    lifts: Quantity
    travel: Quantity
    time: Quantity
    back: Quantity | None
    regulator: Quantity
    length: Quantity
    system: System
    reach: Reach | None = None
    drives: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Choice:
    """One set of parts that does it, as reckoned. `open_s` with open needles, `slowest_s` where all is bad."""

    parts: Parts
    given: Given
    open_s: float
    slowest_s: float
    strokes: Strokes
    remarks: tuple[Remark, ...]

    @property
    def air_std_l(self) -> float:
        air = self.strokes.cycle_air_std_l
        assert air is not None
        return air


@dataclass(frozen=True, slots=True)
class Nearest:
    """What would make it possible, all else as it was wanted; None where that alone does not.

    `share` is that of what was to be moved and carried; `moves` is the load that makes, where the rod itself moves it.
    """

    time: Quantity | None
    share: float | None
    moves: Quantity | None
    regulator: Quantity | None


def choices(wanted: Wanted) -> tuple[Choice, ...]:
    """Every bore that does it, the one that takes least air first. Raises Unfit for what cannot be wanted."""
    found = [choice for cylinder in cylinders(wanted.system) if (choice := _smallest(wanted, cylinder)) is not None]
    return tuple(sorted(found, key=lambda choice: choice.air_std_l))


def _smallest(wanted: Wanted, cylinder: tuple[str, Quantity, Quantity]) -> Choice | None:
    """The thinnest tube and smallest valve on one cylinder that are enough."""
    for parts in sets_with(cylinder, wanted.system):
        said = given_of(wanted, parts)
        if not strong_enough(said):
            return None
        slowest = slowest_s(wanted, said)
        if slowest <= wanted.time.si and (choice := _set_to(wanted, parts, said, slowest)) is not None:
            return choice
    return None


def given_of(wanted: Wanted, parts: Parts, **more: Quantity) -> Given:
    """The parts as a builder would say them."""
    values = {"like": parts.cylinder, "stroke": wanted.travel, "moves": wanted.moves, "lifts": wanted.lifts,
              "regulator": wanted.regulator, "tube": parts.tube, "length": wanted.length, "valve": parts.valve,
              "needle_out": OPEN, "needle_back": OPEN, "reach": wanted.reach, **wanted.drives, **more}
    said = given({name: value for name, value in values.items() if value is not None})
    return said if wanted.share == 1.0 else lightened(said, wanted.share)


def lightened(said: Given, share: float) -> Given:
    """The same with so much of what the rod moves and of what its parts carry."""
    moves = said.cylinder.moves
    cylinder = said.cylinder if moves is None else said.cylinder.model_copy(update={"moves": _share_of(moves, share)})
    parts = tuple(part.model_copy(update={"carries": _share_of(part.carries, share)})  # type: ignore[attr-defined]
                  if hasattr(part, "carries") else part for part in said.driven.parts)
    return replace(said, cylinder=cylinder, driven=replace(said.driven, parts=parts))


def _share_of(mass: Quantity, share: float) -> Quantity:
    return rounded(mass.si * share, mass, up=False)


OPEN = Quantity(1.0, UNITS["%"], "100 %")
LEVEL = Quantity(0.0, UNITS["deg"], "0 deg")


def strong_enough(said: Given) -> bool:
    """Whether load and friction leave the margin both ways and the valve has its pilot pressure."""
    parts = described(said)
    if said.valve.pilot is not None and said.valve.pilot.si > said.regulator.si:
        return False
    ways: tuple[Toward, ...] = ("out", "home")
    return all(force_of(parts, toward).margin >= 1 - LOAD_RATIO_MOVING for toward in ways)


def slowest_s(wanted: Wanted, said: Given) -> float:
    """When the rod is out with open needles and everything as bad as may be; infinite where the way back fails."""
    parts = described(said)
    bad = replace(parts, pressure_pa_gauge=parts.pressure_pa_gauge / UNTIMED.pressure)
    if wanted.back is not None and arrival_s(bad, BAD, "home", wanted.back.si * LATE) > wanted.back.si:
        return math.inf
    return arrival_s(bad, BAD, "out", wanted.time.si * LATE)


def _set_to(wanted: Wanted, parts: Parts, said: Given, slowest: float) -> Choice | None:
    """The parts with their needles set to the times wanted, reckoned; None where that shows a fault."""
    needles = {"needle_out": _needle(described(said), "out", wanted.time.si)}
    if wanted.back is not None:
        needles["needle_back"] = _needle(described(said), "home", wanted.back.si)
    settled = given_of(wanted, parts, **needles)
    found = strokes(settled, False)
    told = remarks(found)
    if any(remark.kind in REFUSED for remark in told):
        return None
    opened = arrival_s(described(said), Unknowns(1.0, 1.0), "out", wanted.time.si * 2)
    return Choice(parts, settled, opened, slowest, found, told)


def _needle(parts: Described, toward: Toward, time_s: float) -> Quantity:
    """The setting with which the rod arrives just in time, in whole per cent; never further shut than is sensible."""
    low, high = NEEDLE
    if _is_late(parts, toward, low, time_s):
        # Low stays late, high in time: a setting a per cent further shut than the one found would be late.
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if _is_late(parts, toward, middle, time_s) else (low, middle)
    else:
        high = low
    return Quantity(high / 100, UNITS["%"], f"{high} %")


def _is_late(parts: Described, toward: Toward, per_cent: int, time_s: float) -> bool:
    return arrival_s(parts, Unknowns(per_cent / 100, per_cent / 100), toward, time_s * LATE) > time_s


def nearest(wanted: Wanted) -> Nearest:
    """What would do where nothing does: a longer time, less load, more pressure, each by itself and by reckoning.

    For load and pressure the largest valve and the tube that is fastest as things are stand for each cylinder.
    """
    fastest = tuple(_fastest(wanted))
    share = _lighter(wanted, fastest)
    alone = None if share is None or wanted.drives or wanted.moves is None else wanted.moves
    lighter = None if alone is None or share is None else rounded(alone.si * share, alone, up=False, figures=2)
    return Nearest(_longer(wanted), share, lighter, _harder(wanted, fastest))


LONGEST_S, LEAST_SHARE, HIGHEST_PA = 30.0, 0.01, 8.6e5
"""How far a wish is stretched: 30 s, a hundredth of the load, and 8.6 bar (125 psi), what small compressors give all
evening."""
HALVINGS = 7


def _fastest(wanted: Wanted) -> Iterator[Parts]:
    """For every cylinder the set with which it is out first, were its load moved level, which any bore can; on a
    linkage, were there next to nothing on it."""
    level = replace(wanted, lifts=LEVEL, time=replace(wanted.time, si=LONGEST_S), back=None,
                    share=LEAST_SHARE if wanted.drives else 1.0)
    for cylinder in cylinders(wanted.system):
        sets = [parts for parts in sets_with(cylinder, wanted.system) if parts.valve == VALVES[-1]]
        yield min(sets, key=lambda parts: slowest_s(level, given_of(level, parts)))


def _longer(wanted: Wanted) -> Quantity | None:
    patient = replace(wanted, time=replace(wanted.time, si=LONGEST_S), back=None)
    best = math.inf
    for cylinder in cylinders(wanted.system):
        for parts in sets_with(cylinder, wanted.system):
            said = given_of(wanted, parts)
            if not strong_enough(said):
                break
            best = min(best, slowest_s(patient, said))
    return rounded(best, wanted.time, up=True, figures=2) if math.isfinite(best) else None


def _lighter(wanted: Wanted, fastest: tuple[Parts, ...]) -> float | None:
    def does(share: float) -> bool:
        return _any_does(replace(wanted, share=share), fastest)

    found = _bisected(does, LEAST_SHARE, 1.0)
    return None if found is None else math.floor(found * 100) / 100


def _harder(wanted: Wanted, fastest: tuple[Parts, ...]) -> Quantity | None:
    def does(pascals: float) -> bool:
        return _any_does(replace(wanted, regulator=replace(wanted.regulator, si=pascals)), fastest)

    if wanted.regulator.si >= HIGHEST_PA:
        return None
    found = _bisected(does, HIGHEST_PA, wanted.regulator.si)
    return None if found is None else rounded(found, wanted.regulator, up=True, figures=2)


def _any_does(wanted: Wanted, sets: tuple[Parts, ...]) -> bool:
    givens = (given_of(wanted, parts) for parts in sets)
    return any(strong_enough(said) and slowest_s(wanted, said) <= wanted.time.si for said in givens)


def _bisected(does: Callable[[float], bool], extreme: float, start: float) -> float | None:
    """The value nearest to `start` that still does, found between it and the extreme; None where that does not."""
    if not does(extreme):
        return None
    good, bad = extreme, start
    for _ in range(HALVINGS):
        middle = math.sqrt(good * bad)
        good, bad = (middle, bad) if does(middle) else (good, middle)
    return good


def check(wanted: Wanted) -> None:
    """Raises Unfit where no prop could be so."""
    if not wanted.time.si > 0.01:
        raise Unfit("time", f"{wanted.time} is sooner than any valve has shifted; 10 ms is the least")
    if wanted.back is not None and not wanted.back.si > 0.01:
        raise Unfit("back", f"{wanted.back} is sooner than any valve has shifted; 10 ms is the least")
    if wanted.time.si > LONGEST_S:
        raise Unfit("time", f"{wanted.time} is longer than a stroke is reckoned for, {LONGEST_S:.0f} s")
