"""Options that several commands share, each said once: `--json`, `--color`, `--port`, `--yes`."""

from __future__ import annotations

from pathlib import Path

import click

from sequencer.cli.trouble import Voice

DEFAULT_PORT = "virtual://default"

ShowPath = click.Path(path_type=Path)
"""Whether the file is there is found out by opening it, so that there is one wording for it."""


def _speak_json(ctx: click.Context, _: click.Parameter, value: bool) -> bool:
    if value and isinstance(ctx.obj, Voice):
        ctx.obj.json = True
    return value


json_option = click.option(
    "--json", "as_json", is_flag=True, callback=_speak_json, is_eager=True,
    help="Answer with one JSON object.",
)  # fmt: skip

color_option = click.option(
    "--color",
    type=click.Choice(["auto", "always", "never"]),
    default="auto",
    help="Colour: on a terminal unless NO_COLOR is set (auto), always, or never.",
)

port_option = click.option(
    "--port",
    metavar="URL",
    default=DEFAULT_PORT,
    show_default=True,
    help="The board: a device such as COM3 or /dev/ttyUSB0, socket://HOST:PORT, virtual://NAME, or `find` "
    "for the one board that answers.",
)

yes_option = click.option("--yes", is_flag=True, help="Go on after the caution without asking.")

show_option = click.option(
    "--show", "show_file", type=ShowPath, metavar="FILE",
    help="The show the board's program was compiled from, for its names.",
)  # fmt: skip
