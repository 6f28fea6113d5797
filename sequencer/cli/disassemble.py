"""`disassemble BINARY`: the bytes of a program as people read them."""

from __future__ import annotations

import sys
import zlib
from pathlib import Path

import click

from sequencer.cli.names import names_of_show, wired
from sequencer.cli.options import ShowPath, json_option, show_option
from sequencer.cli.terminal import window
from sequencer.cli.text import shell_word
from sequencer.cli.trouble import WrongUse


@click.command()
@click.argument("binary", type=ShowPath)
@show_option
@json_option
def command(binary: Path, show_file: Path | None, as_json: bool) -> None:
    """List the steps of a compiled program.

    With --show the outputs, sensors and scares go by their names; the show must be the one that it was
    compiled from.
    """
    from sequencer.steps import BadProgram, decode
    from sequencer.steps.listing import disassembly

    image = binary.read_bytes()
    try:
        program = decode(image)
    except BadProgram as fault:
        shown = f" `sequencer compile {shell_word(str(binary))} --listing` lists the steps of a show."
        hint = shown if binary.suffix == ".show" else ""
        raise WrongUse(f"{binary} is not a program for a board: {str(fault).rstrip('.')}.{hint}") from None
    names = names_of_show(show_file, image) if show_file is not None else wired(None, program)
    if not as_json:
        click.echo(disassembly(image, names, window(sys.stdout)), nl=False)
        return
    from sequencer.cli.formats import as_json as json_of

    about = {
        "board": names.board or program.board,
        "bytes": len(image),
        "crc32": f"{zlib.crc32(image):08x}",
        "show_id": program.show_id,
        "steps": sum(len(routine.steps) for routine in program.routines),
    }
    click.echo(json_of({"program": about, "listing": disassembly(image, names).splitlines()}))
