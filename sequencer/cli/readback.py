"""`readback`: the program a board holds, read from its memory into a file or listed."""

from __future__ import annotations

import sys
import zlib
from pathlib import Path

import click

from sequencer.cli.door import board_at, state_with_program
from sequencer.cli.files import write_whole
from sequencer.cli.names import names_of_board_program, wired
from sequencer.cli.options import ShowPath, json_option, port_option, show_option
from sequencer.cli.say import say
from sequencer.cli.terminal import window


@click.command()
@click.option("-o", "--output", type=ShowPath, metavar="OUT", help="Write the program's bytes to this file.")
@show_option
@port_option
@json_option
def command(output: Path | None, show_file: Path | None, port: str, as_json: bool) -> None:
    """Read back the program that a board holds: into a file with -o, else as a listing."""
    from sequencer.board.errors import VerifyFailed

    with board_at(port, quiet=as_json) as board:
        state = state_with_program(board, "read back")
        image = board.link.read_back(state.length)
    if zlib.crc32(image) != state.crc:
        raise VerifyFailed(0, state.length, len(image))
    if output is not None:
        write_whole(output, image)
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        program = {"bytes": len(image), "crc32": f"{state.crc:08x}", "file": str(output) if output else None}
        click.echo(json_of({"board": board.value(), "program": {**program, "hex": image.hex()}}))
    elif output is not None:
        say("good", f"{len(image)} bytes, checksum {state.crc:08x}, are in {output}.")
    else:
        from sequencer.steps import decode
        from sequencer.steps.listing import disassembly

        names = names_of_board_program(show_file, state.length, state.crc)
        if names is None or not names.board:
            names = wired(names, decode(image))
        click.echo(disassembly(image, names, window(sys.stdout)), nl=False)
