"""Units that the language has not -> what was likely meant, in one that it has. Pressures above nothing are told apart:
taken for a gauge's they would be 14.7 psi too much.

Works on plain text; what is said of a slip is worded by who found it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from sequencer.findings import closest
from sequencer.units import UNITS, units_of

ALIASES = {
    "inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "msec": "ms", "millisecond": "ms", "milliseconds": "ms", "mins": "min", "minute": "min", "minutes": "min",
    "hour": "h", "hours": "h", "hr": "h", "lbs": "lb", "pound": "lb", "pounds": "lb", "kilo": "kg", "kilos": "kg",
    "percent": "%", "pct": "%", "degree": "deg", "degrees": "deg", "psig": "psi", "bars": "bar", "barg": "bar",
    "kpag": "kPa", "volt": "V",
    "volts": "V", "amp": "A", "amps": "A", "watt": "W", "watts": "W", "hertz": "Hz", "gallon": "gal",
    "gallons": "gal", "liter": "L", "liters": "L", "litre": "L", "litres": "L", "metre": "m", "meter": "m",
    "newton": "N", "newtons": "N", "ohms": "ohm",
}

ELSEWHERE = {
    "kw": ("W", 1000), "kn": ("N", 1000), "g": ("kg", Fraction(1, 1000)),
    "oz": ("lb", Fraction(1, 16)), "yd": ("ft", 3), "km": ("m", 1000), "mi": ("ft", 5280),
    "pa": ("kPa", Fraction(1, 1000)),
    "mbar": ("bar", Fraction(1, 1000)), "hpa": ("kPa", Fraction(1, 10)), "l/s": ("L/min", 60),
    "ml": ("L", Fraction(1, 1000)), "cc": ("L", Fraction(1, 1000)), "qt": ("gal", Fraction(1, 4)),
    "rpm": ("Hz", Fraction(1, 60)),
    "kg/cm2": ("bar", Fraction(980_665, 1_000_000)),
}
"""Units that the language has not, in one that it has. NIST SP 811 (2008), Appendix B."""
ABSOLUTE_WORDS = ("absolute", "abs")
_ABSOLUTE = {f"{unit}{end}".casefold(): unit for unit in ("psi", "bar", "kPa", "MPa")
             for end in ("a", "(a)", "_a", "abs", *ABSOLUTE_WORDS) if unit in UNITS}
ATMOSPHERE_PA = 101_325
"""The standard atmosphere (CGPM 1954): the air outside at sea level."""


def said_in_ours(dimension: str, number: Fraction, unit: str) -> str | None:
    """The same quantity in a unit that the language has; None where it is of another dimension, or not known.

    >>> said_in_ours("length", Fraction(1), "km"), said_in_ours("mass", Fraction(1), "km")
    ('1000 m', None)
    """
    ours, factor = ELSEWHERE.get(unit.casefold(), ("", 0))
    return f"{float(number * factor):.6g} {ours}" if ours in units_of(dimension) else None


def above_the_air(number: Fraction, unit: str) -> tuple[str, str | None] | None:
    """A sentence on an absolute pressure, and what a gauge would show at sea level (None: nothing); None for any other
    unit.

    >>> above_the_air(Fraction("74.7"), "psia")[1], above_the_air(Fraction(1), "bara")[1]
    ('60 psi', None)
    """
    ours = _ABSOLUTE.get(unit.casefold())
    if ours is None:
        return None
    gauge = float(number) - ATMOSPHERE_PA / float(UNITS[ours].factor)
    said = f"{gauge:.3g} {ours}" if gauge > 0 else None
    means = (f"`{float(number):.6g} {ours}` absolute is `{said}` at sea level" if said is not None
             else f"`{float(number):.6g} {ours}` absolute is no more than the air outside")
    return f"Pressures are as a gauge shows them, above the air outside: {means}.", said


def unit_meant(word: str, units: Sequence[str]) -> str | None:
    """The unit of these that a word was likely meant to be."""
    plain = ALIASES.get(word.casefold())
    if plain in units:
        return plain
    same = [unit for unit in units if unit.casefold() == word.casefold()]
    if same:
        return same[0]
    near = closest(word, [unit for unit in units if len(unit) > 1])
    return near[0] if near else None
