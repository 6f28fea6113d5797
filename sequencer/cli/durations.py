"""Times, levels and counts typed on the command line -> numbers; the units are those of the language."""

from __future__ import annotations

import click

from sequencer.units import read_quantity

MOST_TICKS = 60_000


class Ticks(click.ParamType):
    """A time with its unit, as whole ticks of 1 ms, from 1 ms to a minute."""

    name = "time"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        try:
            quantity = read_quantity(str(value))
        except ValueError:
            quantity = None
        if quantity is None or quantity.dimension != "time":
            self.fail(f"`{value}` is no time; write it with its unit, such as 200 ms or 2 s.", param, ctx)
        ticks = round(quantity.us / 1000)
        if not 1 <= ticks <= MOST_TICKS:
            self.fail(f"`{value}` is out of range; it may be 1 ms to {MOST_TICKS // 1000} s.", param, ctx)
        return ticks


class Level(click.ParamType):
    """A level from 0 % to 100 %, `on` or `off`, as a number from 0 to 255."""

    name = "level"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        words = {"on": 255, "off": 0}
        if str(value) in words:
            return words[str(value)]
        try:
            quantity = read_quantity(str(value))
        except ValueError:
            quantity = None
        if quantity is None or quantity.dimension != "share":
            self.fail(f"`{value}` is no level; write on, off or a share such as 60 %.", param, ctx)
        if not 0 <= quantity.si <= 1:
            self.fail(f"`{value}` is out of range; a level is 0 % to 100 %.", param, ctx)
        return round(quantity.si * 255)


class WholeNumber(click.IntRange):
    """A whole number within bounds, refused in plain words."""

    name = "number"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        try:
            return int(super().convert(value, param, ctx))
        except click.BadParameter:
            least = "0" if self.min is None else f"{self.min:g}"
            bounds = f"from {least} on" if self.max is None else f"from {least} to {int(self.max)}"
            self.fail(f"`{value}` is no whole number {bounds}.", param, ctx)


TICKS = Ticks()
LEVEL = Level()
