"""`disassemble BINARY`: the bytes of a program as people read them."""

from __future__ import annotations

from pathlib import Path

import click

from sequencer.cli.names import names_of_show
from sequencer.cli.options import ShowPath, show_option
from sequencer.cli.trouble import WrongUse


@click.command()
@click.argument("binary", type=ShowPath)
@show_option
def command(binary: Path, show_file: Path | None) -> None:
    """List the steps of a compiled program.

    With --show the outputs, sensors and scares go by their names; the show must be the one that it was
    compiled from.
    """
    from sequencer.steps import BadProgram
    from sequencer.steps.listing import disassembly

    image = binary.read_bytes()
    try:
        names = names_of_show(show_file, image) if show_file is not None else None
        click.echo(disassembly(image, names), nl=False)
    except BadProgram as fault:
        raise WrongUse(f"{binary} is not a program for a board: {str(fault).rstrip('.')}.") from None
