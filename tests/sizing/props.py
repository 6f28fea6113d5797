"""Props as a builder would type them, for the tests of this room."""

from __future__ import annotations

from sequencer.sizing.given import Given, given
from sequencer.sizing.made import Value
from sequencer.units import read_quantity

RAM = {"bore": "1-1/2 in", "stroke": "12 in", "moves": "25 lb", "lifts": "20 deg", "regulator": "60 psi",
       "tube": "1/4 in", "length": "10 ft"}


def said(**more: object) -> dict[str, Value]:
    """The values of the ram, with others beside or instead; None leaves one out. A text with a digit has its unit."""
    values = {**RAM, **more}
    return {name: read_quantity(value) if isinstance(value, str) and value.lstrip("-")[:1].isdigit() else value
            for name, value in values.items() if value is not None}  # type: ignore[misc]


def ram(**more: object) -> Given:
    return given(said(**more))
