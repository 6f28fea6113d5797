"""One input over a range -> the strokes at each of its values, all else as it was given.

Inputs that are sold in sizes (a bore, a tube) go through the sizes that are in the range; every other one through round
numbers of its unit, and both ends.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from sequencer.air.convert import conductance_if_only_cv_known
from sequencer.rig import shelf
from sequencer.rig.shelf.read import values_of
from sequencer.rig.tubes import INNER_BY_OUTER
from sequencer.sizing.driven import as_taken
from sequencer.sizing.given import Given, given
from sequencer.sizing.made import Unfit, Value
from sequencer.sizing.strokes import Strokes, strokes
from sequencer.sizing.sweep_driven import Phrase, with_value
from sequencer.units import UNITS, Quantity, Unit, read_number, read_quantity

FIELDS: dict[str, str] = {
    "bore": "length", "rod": "length", "stroke": "length", "moves": "mass", "lifts": "angle", "regulator": "pressure",
    "tube": "length", "length": "length", "inside": "length", "needle": "share", "needle_out": "share",
    "needle_back": "share", "conductance": "conductance", "exhaust": "conductance", "critical_ratio": "share",
    "responds": "time", "releases": "time", "shift": "time", "preload": "force", "rate": "stiffness",
    "friction": "force", "dead_volume": "volume", "cv": "number",
}
"""What may be swept, and the dimension of its values. `needle` is both needles at once."""
PLAIN = Unit("", "number", Fraction(1))
"""The unit of what has none: a Cv."""
POINTS = 10
"""About so many steps within a range."""
MOST_SIZES = 40


@dataclass(frozen=True, slots=True)
class Sweep:
    """An input by name and the values it takes, at least two, rising; `phrase`: where it is said of what is driven."""

    field: str
    values: tuple[Quantity, ...]
    phrase: Phrase | None = None

    @property
    def unit(self) -> Unit:
        return self.values[0].unit


@dataclass(frozen=True, slots=True)
class Swept:
    """The strokes at each value, in order."""

    sweep: Sweep
    strokes: tuple[Strokes, ...]

    @property
    def varies(self) -> tuple[str, ...]:
        """The fields that are not the same at every value: what is swept, and a stroke that follows it."""
        more = len({one.given.cylinder.stroke.si for one in self.strokes}) > 1
        return (self.sweep.field, "stroke") if more else (self.sweep.field,)

    @property
    def driven_words(self) -> tuple[str, ...]:
        """What the rod drives, as it was said, with the range in its place."""
        said, phrase, values = self.strokes[0].given.driven.words, self.sweep.phrase, self.sweep.values
        if phrase is None:
            return said
        first, whole = phrase.with_(values[0].text), phrase.with_(f"{values[0].text.split()[0]}..{values[-1].text}")
        return tuple(words.replace(first, whole) for words in said)

    @property
    def assumed(self) -> tuple[str, ...]:
        """What was taken for granted at every value."""
        every = [one.given.assumed for one in self.strokes]
        words = dict.fromkeys(words for assumed in every for words in assumed)
        strokes = {one.given.cylinder.stroke.si: one.given.cylinder.stroke for one in self.strokes}
        taken = {as_taken(stroke) for stroke in strokes.values()}
        if len(taken) > 1 and taken <= set(words):
            ends = f"{strokes[min(strokes)]} to {strokes[max(strokes)]}"
            words = dict.fromkeys([as_taken(ends), *(one for one in words if one not in taken)])
        if self.sweep.field != "cv":
            return tuple(words)
        known = conductance_if_only_cv_known(1.0)
        low, likely, high = (f"{found * 1e8:.3g}" for found in (known.low, known.likely, known.high))
        each = f"C taken as {likely} dm3/s/bar for a Cv of 1 (makers' pairs give {low} to {high})"
        return (*(one for one in words if not one.startswith("Cv ")), each)


def read_range(field: str, text: str) -> Sweep:
    """A range such as `40..90 psi` or `6 mm..12 mm` -> its values. Raises Unfit with what is wrong about it."""
    low, high = _ends(field, text, FIELDS[field])
    values = _sizes(field, low, high) or _round_values(low, high)
    if len(values) < 2:
        raise Unfit(field, f"fewer than two sizes are sold from {low} to {high}")
    return Sweep(field, values)


def read_driven_range(phrase: Phrase, text: str) -> Sweep:
    """The same for a value in a phrase of what the rod drives. What has no unit is counted in whole numbers."""
    high = text.partition("..")[2].strip()
    unit = UNITS.get(high.partition(" ")[2])
    low, top = _ends(phrase.kind, text, PLAIN.dimension if unit is None else unit.dimension)
    values = _round_values(low, top)
    if unit is None:
        values = tuple(_said(Fraction(count), PLAIN) for count in range(math.ceil(low.si), math.floor(top.si) + 1))
    if not 2 <= len(values) <= MOST_SIZES:
        raise Unfit(phrase.kind, f"`{text}` has {len(values)} whole numbers; two to {MOST_SIZES} can be swept")
    return Sweep(phrase.name, values, phrase)


def _ends(field: str, text: str, dimension: str) -> tuple[Quantity, Quantity]:
    match = re.fullmatch(r"\s*(.+?)\s*\.\.\s*(.+?)\s*", text)
    if match is None:
        raise Unfit(field, f"`{text}` is no range; write `40..90 psi`, say")
    high = _quantity(field, match[2], dimension)
    low = _low(field, match[1], high)
    if low.unit != high.unit:
        raise Unfit(field, f"both ends of `{text}` must have the same unit")
    if not low.si < high.si:
        raise Unfit(field, f"`{text}` must rise from its first value to its second")
    return low, high


def swept(said: Mapping[str, Value], sweep: Sweep) -> Swept:
    """The strokes at each value. Raises Unfit where one of them makes no cylinder."""
    return Swept(sweep, tuple(strokes(_with(said, sweep, value), False) for value in sweep.values))


def _with(said: Mapping[str, Value], sweep: Sweep, value: Quantity) -> Given:
    field, phrase = sweep.field, sweep.phrase
    if phrase is not None:
        changed = with_value(said, phrase, value.text)
        try:
            return given(changed)
        except Unfit as fault:
            raise Unfit(fault.field, f"with {phrase.with_(value.text)}: {fault}") from None
    fields = ("needle_out", "needle_back") if field == "needle" else (field,)
    return given({**said, **dict.fromkeys(fields, value.si if value.unit == PLAIN else value)})


def _quantity(field: str, text: str, dimension: str) -> Quantity:
    if dimension == PLAIN.dimension:
        return _number(field, text)
    try:
        found = read_quantity(text)
    except ValueError:
        raise Unfit(field, f"`{text}` is no {dimension} with its unit") from None
    if found.dimension != dimension:
        raise Unfit(field, f"`{text}` is a {found.dimension}; a {dimension} is due")
    return found


def _number(field: str, text: str) -> Quantity:
    try:
        return Quantity(float(read_number(text)), PLAIN, text)
    except ValueError:
        raise Unfit(field, f"`{text}` is no plain number") from None


def _low(field: str, text: str, high: Quantity) -> Quantity:
    """The first end, which may leave its unit to the second."""
    if high.unit == PLAIN:
        return _number(field, text)
    number = text.removeprefix("-")
    try:
        read_number(number)
    except ValueError:
        return _quantity(field, text, high.dimension)
    return _quantity(field, f"{text} {high.unit.symbol}", high.dimension)


def _sizes(field: str, low: Quantity, high: Quantity) -> tuple[Quantity, ...]:
    """The sizes that are sold in the range, in the unit of the range; none where the input has no sizes."""
    if field == "tube":
        sold: Sequence[Quantity] = [read_quantity(outer) for outer in INNER_BY_OUTER]
    elif field == "bore":
        parts = (shelf.find(name) for name in shelf.names("cylinder"))
        sold = [values_of(part)["bore"] for part in parts if part is not None]
    else:
        return ()
    inside = {size.si: size for size in sold if size.unit == low.unit and low.si - 1e-9 <= size.si <= high.si + 1e-9}
    return tuple(inside[si] for si in sorted(inside))[:MOST_SIZES]


def _round_values(low: Quantity, high: Quantity) -> tuple[Quantity, ...]:
    unit = low.unit
    first, last = (Fraction((end.si - float(unit.offset)) / float(unit.factor)).limit_denominator(10_000)
                   for end in (low, high))
    step = _round_step(last - first)
    between = [step * count for count in range(math.ceil(first / step), math.floor(last / step) + 1)]
    numbers = sorted({first, last, *between})
    # An end that lies close to a round number stands for it.
    kept = [number for number in numbers
            if number in (first, last) or min(number - first, last - number) > step / 4]
    return tuple(_said(number, unit) for number in kept)


def _round_step(span: Fraction) -> Fraction:
    rough = span / POINTS
    power = Fraction(10) ** math.floor(math.log10(rough))
    return next(step * power for step in (1, 2, Fraction(5, 2), 5, 10) if step * power >= rough)


def _said(number: Fraction, unit: Unit) -> Quantity:
    text = f"{float(number):.6g} {unit.symbol}".rstrip()
    return Quantity(float(number * unit.factor + unit.offset), unit, text)
