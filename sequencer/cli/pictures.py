"""A picture as SVG text -> the files that `--svg` and `--png` ask for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from sequencer.cli.files import write_whole
from sequencer.cli.say import say
from sequencer.cli.trouble import WrongUse

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

svg_option = click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw it into this file.")
png_option = click.option(
    "--png", type=click.Path(path_type=Path), metavar="FILE",
    help="The same as pixels; needs the extra `prop-sequencer[png]`.",
)  # fmt: skip


def write_pictures(drawn: Callable[[], str], svg: Path | None, png: Path | None, quiet: bool) -> None:
    """Draws once and writes what was asked for. Raises OSError, and WrongUse where no PNG can be made."""
    if svg is None and png is None:
        return
    text = drawn()
    if svg is not None:
        write_whole(svg, text.encode("utf-8"))
    if png is not None:
        from sequencer.pages.png import NoPng, png_of

        try:
            write_whole(png, png_of(text))
        except NoPng as fault:
            raise WrongUse(str(fault)) from None
    if not quiet:
        written = " and ".join(str(path) for path in (svg, png) if path is not None)
        say("good", f"drawn into {written}", err=True)
