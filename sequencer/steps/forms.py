"""How the arguments of a step become bytes and back: the first byte, and the parts that follow it.

Which step has which forms is for `table`. A decoder is one switch on the first byte; no part depends on another.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

from sequencer.frozen import frozen
from sequencer.steps.varint import read_time, read_varint, write_time, write_varint


class Coding(Enum):
    """How a part is written, in the words of the document."""

    BYTE = "byte"
    STATE = "state"
    PAIR = "pair"
    TIME = "time"
    NUMBER = "number"


Part = tuple[Coding, tuple[str, ...]]
"""A part behind the first byte, and the fields that it carries."""


@frozen
class Low:
    """A field in the low bits of the first byte: `least` + `unit` * those bits.

    What is left over within a unit is added by a part for the same field; without one, nothing may be left.
    """

    field: str
    bits: int
    unit: int = 1
    least: int = 0


@frozen
class Form:
    """One way to write a step: `base` is the first byte with its low bits clear, `fixed` is not written at all."""

    base: int
    parts: tuple[Part, ...] = ()
    low: Low | None = None
    fixed: tuple[tuple[str, int], ...] = ()

    @property
    def first_bytes(self) -> range:
        """All first bytes of the form."""
        return range(self.base, self.base + (1 << self.low.bits if self.low else 1))


def write(form: Form, values: Mapping[str, int]) -> bytes | None:
    """The bytes of a step in that form, or None where its values do not fit the form."""
    if any(values[name] != value for name, value in form.fixed):
        return None
    first, left = form.base, dict(values)
    if form.low is not None:
        low = form.low
        bits, left[low.field] = divmod(values[low.field] - low.least, low.unit)
        if bits not in range(1 << low.bits) or (left[low.field] and not _carries(form, low.field)):
            return None
        first |= bits
    out = bytearray([first])
    for coding, names in form.parts:
        part = _written(coding, [left[name] for name in names])
        if part is None:
            return None
        out += part
    return bytes(out)


def _carries(form: Form, field: str) -> bool:
    return any(field in names for _, names in form.parts)


def _written(coding: Coding, values: list[int]) -> bytes | None:
    match coding, values:
        case Coding.BYTE, [value]:
            return bytes([value]) if value <= 0xFF else None
        case Coding.STATE, [index, tripped]:
            return bytes([tripped << 7 | index])
        case Coding.PAIR, [one, other]:
            return bytes([one - 1 << 4 | other - 1]) if max(one, other) <= 16 else None
        case Coding.TIME, [value]:
            return write_time(value)
        case Coding.NUMBER, [value]:
            return write_varint(value)
    raise AssertionError(f"a part {coding} with {len(values)} fields")


def shortest(forms: tuple[Form, ...], values: Mapping[str, int]) -> bytes:
    """The bytes of a step in its shortest form; of forms equally short, in the first. One form must fit."""
    written = (write(form, values) for form in forms)
    return min((found for found in written if found is not None), key=len)


def read(form: Form, data: bytes, at: int) -> tuple[dict[str, int], int]:
    """The values of the step that begins at `at` in that form, and where the next byte is.

    Raises ValueError where it is cut off or a number in it is none.
    """
    values = dict(form.fixed)
    if form.low is not None:
        values[form.low.field] = form.low.least + form.low.unit * (data[at] - form.base)
    at += 1
    for coding, names in form.parts:
        found, at = _read(coding, data, at)
        for name, value in zip(names, found, strict=True):
            values[name] = values.get(name, 0) + value
    return values, at


def _read(coding: Coding, data: bytes, at: int) -> tuple[tuple[int, ...], int]:
    if coding is Coding.TIME:
        ticks, at = read_time(data, at)
        return (ticks,), at
    if coding is Coding.NUMBER:
        value, at = read_varint(data, at)
        return (value,), at
    if at >= len(data):
        raise ValueError("a byte is cut off")
    byte = data[at]
    if coding is Coding.STATE:
        return (byte & 0x7F, byte >> 7), at + 1
    if coding is Coding.PAIR:
        return ((byte >> 4) + 1, (byte & 0x0F) + 1), at + 1
    return (byte,), at + 1
