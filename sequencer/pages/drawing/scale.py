"""A range of SI values and a stretch of pixels -> places, and ticks at round numbers of the author's unit."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sequencer.units import Unit

STEPS = (1.0, 2.0, 2.5, 5.0)
"""Gaps between ticks, times a power of ten."""
OWN_STEPS: dict[str, tuple[float, ...]] = {
    "in": (0.03125, 0.0625, 0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 36.0, 60.0),
    "deg": (1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 90.0),
    "min": (1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0),
}
"""Gaps that are round in a unit that is not counted in tens; outside them it is counted in tens all the same."""
MOST_WIDENED = 8
"""How often a range may be widened, a bound that is never met: 5 rounds were enough for 200,000 random ranges."""
HAIR = 1e-3
"""A value that lies so little of a step beyond a tick, some hundredths of a pixel, makes no new step."""
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Tick:
    """A value (SI) and the number to print at it, in the author's unit, without the unit."""

    value: float
    label: str


@dataclass(frozen=True, slots=True)
class Scale:
    """The SI values from `low` to `high` lie on the pixels from `start` to `end` (which may be the smaller one).

    Raises ValueError unless low < high and all are finite.
    """

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not (self.low < self.high and all(map(math.isfinite, (self.low, self.high, self.start, self.end)))):
            raise ValueError(f"nothing can be drawn from {self.low} to {self.high}")

    def at(self, value: float) -> float:
        """The pixel of a value; outside the range it lies outside the stretch.

        >>> Scale(0.0, 10.0, 100.0, 200.0).at(2.5)
        125.0
        """
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def value_at(self, pixel: float) -> float:
        """The value of a pixel.

        >>> Scale(0.0, 10.0, 100.0, 200.0).value_at(125.0)
        2.5
        """
        return self.low + (pixel - self.start) / (self.end - self.start) * (self.high - self.low)

    def holds(self, value: float) -> bool:
        slack = _SLACK * (self.high - self.low)
        return self.low - slack <= value <= self.high + slack


def round_step(span: float, most: int, symbol: str = "") -> float:
    """The least round step with at most `most` steps in a span, both counted in the unit of that symbol.

    >>> round_step(90.0, 5), round_step(0.42, 5), round_step(7.0, 10), round_step(12.0, 5, "in")
    (20.0, 0.1, 1.0, 3.0)
    """
    if not (0 < span < math.inf and most >= 1):
        raise ValueError(f"a span of {span} has no steps")
    rough = span / most
    own = OWN_STEPS.get(symbol, ())
    if own and own[0] * (1 - _SLACK) <= rough <= own[-1]:
        return next(step for step in own if step >= rough * (1 - _SLACK))
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (*STEPS, 10.0) if step * power >= rough * (1 - _SLACK))


def ticks(low: float, high: float, unit: Unit, most: int = 6) -> tuple[Tick, ...]:
    """Ticks at round numbers of the unit within a range of SI values, both ends included.

    >>> from sequencer.units import UNITS
    >>> [tick.label for tick in ticks(0.0, 620_528.0, UNITS["psi"], 6)]
    ['0', '20', '40', '60', '80']
    """
    first, last = _in_unit(low, unit), _in_unit(high, unit)
    step = round_step(last - first, most, unit.symbol)
    start = math.ceil(first / step - 1e-6)
    end = math.floor(last / step + 1e-6)
    digits = _digits(step)
    return tuple(Tick(_in_si(count * step, unit), _label(count * step, digits)) for count in range(start, end + 1))


def spread(low: float, high: float, unit: Unit, most: int = 6) -> tuple[float, float]:
    """The range widened to whole steps of its ticks, so that no curve ends off the drawing and both ends are labelled.

    Equal ends are widened too.

    >>> from sequencer.units import UNITS
    >>> spread(0.0, 0.41, UNITS["s"], 5)
    (0.0, 0.5)
    """
    first, last = _in_unit(low, unit), _in_unit(high, unit)
    if not (math.isfinite(first) and math.isfinite(last) and first <= last):
        raise ValueError(f"nothing can be drawn from {low} to {high}")
    if last - first <= 1e-9 * max(abs(first), abs(last)):
        half = abs(first) / 2 or 0.5
        first, last = first - half, last + half
    step = round_step(last - first, most, unit.symbol)
    for _ in range(MOST_WIDENED):
        first, last = math.floor(first / step + HAIR) * step, math.ceil(last / step - HAIR) * step
        # The wider span may ask for a wider step, whose ticks must again meet both ends.
        step, before = round_step(last - first, most, unit.symbol), step
        if math.isclose(step, before, rel_tol=1e-6):
            break
    return _in_si(first, unit), _in_si(last, unit)


def _in_unit(value: float, unit: Unit) -> float:
    return (value - float(unit.offset)) / float(unit.factor)


def _in_si(number: float, unit: Unit) -> float:
    return number * float(unit.factor) + float(unit.offset)


def _digits(step: float) -> int:
    """How many decimals a step needs."""
    return next((digits for digits in range(12) if abs(round(step, digits) - step) < 1e-6 * step), 12)


def _label(number: float, digits: int) -> str:
    label = f"{number:.{digits}f}"
    return label[1:] if label.startswith("-") and not label.strip("-0.") else label
