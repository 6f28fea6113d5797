"""The units in which an author thinks, taken from how the inputs were written, and values said in them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from sequencer.units import UNITS, Quantity, Unit, speed_beside

SCF = Unit("scf", "volume", Fraction(UNITS["scfm"].factor) * 60)
"""A standard cubic foot of air (68 F, 14.696 psia) as free air at 20 C and 100 kPa."""


@dataclass(frozen=True, slots=True)
class Measures:
    """One unit a quantity. Energy is in J everywhere: that is how its limits are printed."""

    length: Unit
    pressure: Unit
    force: Unit
    speed: Unit
    flow: Unit
    air: Unit


def measures_of(length: Quantity, pressure: Quantity) -> Measures:
    """Who measures in inches speaks of pounds and feet, who measures in mm of newtons and metres."""
    inch = _inch(length.unit)
    force, flow = ("lbf", "scfm") if inch else ("N", "L/min")
    return Measures(length.unit, pressure.unit, UNITS[force], speed_beside(length.unit), UNITS[flow],
                    SCF if inch else UNITS["L"])


def _inch(length: Unit) -> bool:
    return length.symbol in ("in", "ft")


def about(si: float, unit: Unit) -> str:
    """A reckoned value: three figures, its unit; `about_even` keeps the noughts at its end, as a table wants them.

    >>> about(0.12345, UNITS["s"]), about(103421.0, UNITS["psi"]), about(1234.5, UNITS["N"])
    ('0.123 s', '15 psi', '1234 N')
    >>> about_even(103421.0, UNITS["psi"])
    '15.0 psi'
    """
    return f"{trimmed(digits(_in(si, unit)))} {unit.symbol}"


def about_even(si: float, unit: Unit) -> str:
    """
    >>> about_even(1.7 * 0.3048, UNITS["ft/s"])
    '1.70 ft/s'
    """
    return f"{digits(_in(si, unit))} {unit.symbol}"


def digits(number: float, figures: int = 3) -> str:
    """A number to so many figures, never with an exponent; what is next to nothing is 0.

    >>> digits(1234.5), digits(0.01234), digits(-2.5e-12), digits(0.5)
    ('1234', '0.0123', '0', '0.500')
    """
    if abs(number) < 1e-9:
        return "0"
    decimals = max(figures - 1 - math.floor(math.log10(abs(number) * (1 + 0.5 * 10**-figures))), 0)
    return f"{number:.{min(decimals, 12)}f}"


def trimmed(text: str) -> str:
    """
    >>> trimmed("0.500"), trimmed("100")
    ('0.5', '100')
    """
    return text.rstrip("0").rstrip(".") if "." in text else text


def time_said(seconds: float | None) -> str:
    """A time in s to the millisecond; `never` for None.

    >>> time_said(0.41234), time_said(12.3456), time_said(None)
    ('0.412 s', '12.35 s', 'never')
    """
    if seconds is None:
        return "never"
    return f"{seconds:.3f} s" if seconds < 10 else f"{seconds:.2f} s"


def share_said(share: float) -> str:
    """
    >>> share_said(0.8105), share_said(-0.2)
    ('81 %', '-20 %')
    """
    return f"{round(share * 100)} %"


def air_said(std_l: float, measures: Measures) -> str:
    """Free air in the litres of ANR (20 C, 100 kPa), or in scf (68 F, 14.696 psia)."""
    return about_even(std_l / 1000, measures.air)


def air_reference(measures: Measures) -> str:
    """At which conditions `air_said` counts air."""
    return "at 68 F and 14.696 psia" if measures.air is SCF else "at 20 C and 100 kPa"


def _in(si: float, unit: Unit) -> float:
    return (si - float(unit.offset)) / float(unit.factor)
