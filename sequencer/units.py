"""Units: text of a quantity -> SI value and the author's unit; and back to words.

One table of units; every factor is exact by definition unless the row says otherwise. Pressures are gauge,
as on every regulator. Which quantity is due where is said by the parts; nothing here knows about parts.

Sources of the factors: NIST SP 811 (2008) Appendix B for all but the flow of free air. `scfm` is taken at
68 F (20 C) and 14.696 psia, the reference most workshop compressors are sold by (common practice, no source);
`L/min`, `m3/h` and `cfm` are free air at 20 C and 100 kPa (the ANR reference of ISO 8778).
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from sequencer.frozen import frozen

INCH_M = Fraction(254, 10_000)
POUND_KG = Fraction(45_359_237, 100_000_000)
GRAVITY = Fraction(980_665, 100_000)
POUND_FORCE_N = POUND_KG * GRAVITY
FOOT_CUBED_M3 = (INCH_M * 12) ** 3
GALLON_M3 = 231 * INCH_M**3
ATMOSPHERE_TO_ANR = Fraction(101_325, 100_000)


@frozen
class Unit:
    """One unit: SI value = number * factor + offset (offset only for temperatures)."""

    symbol: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)

    def __hash__(self) -> int:
        # By the symbol alone: of 33 us for a cylinder two fractions a quantity took 28 (measured).
        return hash(self.symbol)


@frozen
class Quantity:
    """A quantity as the author wrote it: `si` in SI units (pressures gauge), `text` to quote it back."""

    si: float
    unit: Unit
    text: str

    @property
    def dimension(self) -> str:
        return self.unit.dimension

    @property
    def us(self) -> int:
        """A time in whole microseconds.

        >>> read_quantity("462 ms").us
        462000
        """
        assert self.unit.dimension == "time"
        return round(self.si * 1_000_000)

    def __str__(self) -> str:
        return self.text


def _rows() -> dict[str, Unit]:
    table = (
        ("s", "time", 1), ("ms", "time", Fraction(1, 1000)), ("min", "time", 60), ("h", "time", 3600),
        ("in", "length", INCH_M), ("mm", "length", Fraction(1, 1000)), ("ft", "length", INCH_M * 12),
        ("cm", "length", Fraction(1, 100)), ("m", "length", 1),
        ("psi", "pressure", POUND_FORCE_N / INCH_M**2), ("bar", "pressure", 100_000),
        ("kPa", "pressure", 1000), ("MPa", "pressure", 1_000_000),
        ("lb", "mass", POUND_KG), ("kg", "mass", 1), ("N", "force", 1), ("lbf", "force", POUND_FORCE_N),
        ("scfm", "flow", FOOT_CUBED_M3 * ATMOSPHERE_TO_ANR / 60), ("cfm", "flow", FOOT_CUBED_M3 / 60),
        ("L/min", "flow", Fraction(1, 60_000)), ("m3/h", "flow", Fraction(1, 3600)),
        ("gal", "volume", GALLON_M3), ("L", "volume", Fraction(1, 1000)),
        ("V", "voltage", 1), ("A", "current", 1), ("mA", "current", Fraction(1, 1000)), ("W", "power", 1),
        ("ohm", "resistance", 1), ("deg", "angle", Fraction(31_415_926_535_897_932, 180 * 10**16)),
        ("%", "share", Fraction(1, 100)), ("Hz", "frequency", 1), ("dB", "sound", 1),
        ("ft/s", "speed", INCH_M * 12), ("m/s", "speed", 1),
        ("lbf/in", "stiffness", POUND_FORCE_N / INCH_M), ("N/mm", "stiffness", 1000),
        ("dm3/s/bar", "conductance", Fraction(1, 10**8)),
    )
    rows = {symbol: Unit(symbol, dimension, Fraction(factor)) for symbol, dimension, factor in table}
    rows["C"] = Unit("C", "temperature", Fraction(1), Fraction(27_315, 100))
    rows["F"] = Unit("F", "temperature", Fraction(5, 9), Fraction(45_967, 100) * Fraction(5, 9))
    return rows


UNITS: dict[str, Unit] = _rows()

_READS = 0.001
"""The least number that reads well in a sentence; the largest is some tens of thousands."""

NUMBER = r"(?:\d+-\d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
_QUANTITY = re.compile(rf"(?P<sign>-?)(?P<number>{NUMBER})\s*(?P<unit>\S+)")


def units_of(dimension: str) -> tuple[str, ...]:
    """The symbols that measure one dimension, in the order in which they are offered."""
    return tuple(unit.symbol for unit in UNITS.values() if unit.dimension == dimension)


def read_number(text: str) -> Fraction:
    """A number as written on a drawing or a tape measure. Raises ValueError for anything else.

    >>> read_number("1-1/16"), read_number("3/8"), read_number("1.25")
    (Fraction(17, 16), Fraction(3, 8), Fraction(5, 4))
    """
    if not re.fullmatch(NUMBER, text, re.ASCII):
        raise ValueError(f"{text!r} is not a number")
    if len(text) > 24:
        raise ValueError(f"a number of {len(text)} characters is longer than any tool shows")
    whole, dash, fraction = text.rpartition("-")
    if dash:
        return Fraction(whole) + _fraction(fraction)
    return _fraction(text)


def _fraction(text: str) -> Fraction:
    try:
        return Fraction(text)
    except ZeroDivisionError:
        raise ValueError(f"{text} divides by zero") from None


def read_quantity(text: str) -> Quantity:
    """Number and unit, such as `1-1/2 in` or `60 psi`. Raises ValueError.

    >>> round(read_quantity("60 psi").si)
    413685
    """
    match = _QUANTITY.fullmatch(text)
    if match is None or match["unit"] not in UNITS:
        raise ValueError(f"{text!r} is not a quantity")
    return quantity_of(text)


@lru_cache(maxsize=4096)
def quantity_of(text: str) -> Quantity:
    """The same for a text that a lexer has taken for a quantity. Raises ValueError for 1/0 and endless numbers."""
    match = _QUANTITY.fullmatch(text)
    assert match is not None, text
    number = read_number(match["number"])
    unit = UNITS[match["unit"]]
    return Quantity(float((-number if match["sign"] else number) * unit.factor + unit.offset), unit, text)


def times(number: Fraction, quantity: Quantity, text: str) -> Quantity:
    """A multiple of a named quantity: `4 beat`."""
    return Quantity(float(number) * quantity.si, quantity.unit, text)


def say(si: float, like: Quantity | Unit) -> str:
    """An SI value in the author's unit, to four figures.

    >>> say(413685.0, read_quantity("90 psi"))
    '60 psi'
    """
    unit = like.unit if isinstance(like, Quantity) else like
    number = (si - float(unit.offset)) / float(unit.factor)
    return f"{_digits(number)} {unit.symbol}"


def say_range(least: Quantity, most: Quantity, like: Quantity) -> str:
    """A range in the author's unit, or as it is declared where that would give numbers that nobody reads.

    >>> say_range(read_quantity("1 ms"), read_quantity("1 h"), read_quantity("2 h"))
    '1 ms to 1 h'
    >>> say_range(read_quantity("10 psi"), read_quantity("100 psi"), read_quantity("9 bar"))
    '0.6895 bar to 6.895 bar'
    """
    numbers = [abs(end.si - float(like.unit.offset)) / float(like.unit.factor) for end in (least, most)]
    if any(number and not _READS <= number < 1 / _READS**1.5 for number in numbers):
        return f"{least.text} to {most.text}"
    return f"{say(least.si, like)} to {say(most.si, like)}"


def speed_beside(length: Unit) -> Unit:
    """The unit of speed of who measures a length so.

    >>> speed_beside(UNITS["in"]).symbol, speed_beside(UNITS["mm"]).symbol
    ('ft/s', 'm/s')
    """
    return UNITS["ft/s" if length.symbol in ("in", "ft") else "m/s"]


def rounded(si: float, like: Quantity | Unit, up: bool, figures: int = 3) -> Quantity:
    """An SI value as an author might write it: in so many figures, up or down to the side where it holds.

    Not for temperatures.

    >>> rounded(0.2032, read_quantity("9 in"), up=True).text, rounded(41_000.0, UNITS["psi"], up=True, figures=2).text
    ('8 in', '6 psi')
    """
    unit = like.unit if isinstance(like, Quantity) else like
    number = si / float(unit.factor)
    if number == 0:
        return Quantity(0.0, unit, f"0 {unit.symbol}")
    step = 10.0 ** (math.floor(math.log10(abs(number)) + 1e-12) - figures + 1)
    whole = (math.ceil(number / step - 1e-9) if up else math.floor(number / step + 1e-9)) * step
    return Quantity(whole * float(unit.factor), unit, f"{whole:.6g} {unit.symbol}")


def say_time(us: int, in_ms: bool = False) -> str:
    """A time of the show as in a cue line: in seconds; for an author who wrote milliseconds, in whole ones up to 10 s.

    >>> say_time(1_200_000), say_time(1_234_567), say_time(800_000, in_ms=True)
    ('1.2 s', '1.235 s', '800 ms')
    """
    if in_ms and abs(us) < 10_000_000:
        return f"{round(us / 1000)} ms"
    return f"{_digits(round(us / 1_000_000, 3), 9)} s"


def _digits(number: float, figures: int = 4) -> str:
    text = f"{number:.{figures}g}"
    return f"{number:.0f}" if "e" in text and abs(number) >= 1 else text
