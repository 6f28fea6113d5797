"""Values with units typed on the command line, in quotes or without them, for commands that take a prop by its parts.

`--bore 1-1/2 in --stroke 12 in` reads as `--bore "1-1/2 in" --stroke "12 in"`: the words after an option are its value,
up to the next option.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from sequencer.cli.trouble import WrongUse
from sequencer.units import UNITS, Quantity, read_number, read_quantity, units_of

EXAMPLES = {
    "length": "1-1/2 in", "mass": "25 lb", "angle": "30 deg", "pressure": "60 psi", "share": "40 %", "time": "400 ms",
    "force": "20 N", "stiffness": "0.5 N/mm", "volume": "0.1 L", "conductance": "1.3 dm3/s/bar",
}


class Measure(click.ParamType):
    """A value of one dimension with its unit, as in a show."""

    name = "value"

    def __init__(self, dimension: str) -> None:
        self.dimension = dimension

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Quantity:
        if isinstance(value, Quantity):
            return value
        text = " ".join(str(value).split())
        try:
            found = read_quantity(text)
        except ValueError:
            raise WrongUse(f"{_option(param)}: {self._not_read(text)}") from None
        if found.dimension != self.dimension:
            raise WrongUse(f"{_option(param)}: `{text}` is {_a(found.dimension)}; {self._due} is due.")
        return found

    @property
    def _due(self) -> str:
        return f"{_a(self.dimension)} such as `{EXAMPLES[self.dimension]}`"

    def _not_read(self, text: str) -> str:
        number, _, unit = text.rpartition(" ")
        try:
            read_number(text)
        except ValueError:
            pass
        else:
            return f"`{text}` needs its unit: {self._due}."
        whole, _, part = number.partition(" ")
        if unit in UNITS and part:
            return f"`{text}` is no value; a whole number and a fraction are joined: `{whole}-{part} {unit}`."
        return f"`{text}` is no value; write {self._due}.{self._meant(number, unit)}"

    def _meant(self, number: str, unit: str) -> str:
        """What may have been meant by a unit that there is not."""
        from sequencer.language.other_units import ABSOLUTE_WORDS, above_the_air, said_in_ours, unit_meant

        if unit in ABSOLUTE_WORDS:
            number, _, before = number.rpartition(" ")
            unit = before + unit
        try:
            value = read_number(number)
        except ValueError:
            return ""
        told = above_the_air(value, unit) if self.dimension == "pressure" else None
        if told is not None:
            return f" {told[0]}"
        ours = said_in_ours(self.dimension, value, unit)
        if ours is None and unit not in UNITS and (near := unit_meant(unit, units_of(self.dimension))) is not None:
            ours = f"{number} {near}"
        return f" Did you mean `{ours}`?" if ours is not None else ""


class UnquotedCommand(click.Command):
    """A command whose options take all the words up to the next option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, joined(args, self._with_value()))

    def _with_value(self) -> frozenset[str]:
        options = [param for param in self.params if isinstance(param, click.Option) and not param.is_flag]
        return frozenset(name for option in options for name in option.opts)


def joined(args: list[str], with_value: frozenset[str]) -> list[str]:
    """The words after an option that takes a value, joined to one.

    >>> joined(["--bore", "1-1/2", "in", "--json", "x"], frozenset({"--bore"}))
    ['--bore', '1-1/2 in', '--json', 'x']
    """
    found: list[str] = []
    takes = 0
    for word in args:
        if word.startswith("--") or word == "-h":
            name, sign, _ = word.partition("=")
            takes = (2 if sign else 1) if name in with_value else 0
        elif takes > 1:
            found[-1] = f"{found[-1]} {word}"
            continue
        elif takes:
            takes = 2
        found.append(word)
    return found


def _option(param: click.Parameter | None) -> str:
    return param.opts[0] if param is not None else "value"


def _a(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def measured(names: str, dimension: str, words: str) -> Decorator:
    """An option with a value. `names` are as typed, the last one the name of the field."""
    *options, field = names.split()
    return click.option(*options, field, type=Measure(dimension), metavar=dimension.upper(), help=words)
