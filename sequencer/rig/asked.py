"""Values that a cue gives to a verb -> levels, times and rates inside the range in which they make sense.

The counterpart for verbs of the ranges of properties in `base`. A value outside its range raises a
`PydanticCustomError` of type `range` whose context names the slot (`field`) and the numbers; `language/`
words it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sequencer.units import Quantity, read_quantity, say_range

LEAST_TIME = read_quantity("1 ms")
"""One tick of the board: nothing shorter can come out."""
MOST_TIME = read_quantity("1 h")
"""The language speaks of scares up to an hour long (limit of this project, no source)."""
FULL = read_quantity("100 %")
NOTHING = read_quantity("0 %")
SLOWEST_FLASH = read_quantity("0.05 Hz")
FASTEST_FLASH = read_quantity("50 Hz")
"""Half a period of 10 ticks; beyond it nobody sees a flash (common practice, no source). What is too fast for
people is far below and is not said here: the checks do."""


def share_of(values: Mapping[str, Any], field: str) -> float:
    """A level or fraction, 0 to 1."""
    return _inside(values[field], field, NOTHING, FULL)


def time_of(values: Mapping[str, Any], field: str) -> int:
    """A time in whole microseconds, one tick to one hour."""
    _inside(values[field], field, LEAST_TIME, MOST_TIME)
    return values[field].us


def half_period_of(values: Mapping[str, Any], field: str) -> int:
    """Half a period of a rate of flashing, in whole microseconds.

    >>> half_period_of({"rate": read_quantity("2 Hz")}, "rate")
    250000
    """
    return round(500_000 / _inside(values[field], field, SLOWEST_FLASH, FASTEST_FLASH))


def _inside(value: Quantity, field: str, least: Quantity, most: Quantity) -> float:
    slack = 1e-9 * most.si
    if least.si - slack <= value.si <= most.si + slack:
        return min(max(value.si, least.si), most.si)
    from pydantic_core import PydanticCustomError  # loaded where something is wrong

    raise PydanticCustomError(
        "range", "{text} is outside {range}",
        {"text": value.text, "range": say_range(least, most, value), "field": field},
    )
