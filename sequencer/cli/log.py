"""`log`: what a board has noted since it started."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sequencer.cli.door import board_at
from sequencer.cli.durations import WholeNumber
from sequencer.cli.names import names_of_board_program
from sequencer.cli.options import json_option, port_option, show_option
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented, visible


@click.command()
@click.option("--from", "first", type=WholeNumber(0, 65_535), help="The number of the first entry wanted.")
@show_option
@port_option
@json_option
def command(first: int | None, show_file: Path | None, port: str, as_json: bool) -> None:
    """Read a board's log, oldest first. Changes nothing on the board."""
    from sequencer.board.log import LogNames, entry_words, log_rows

    with board_at(port, quiet=as_json) as board:
        state = board.link.state()
        entries = board.link.log(first)
    known = names_of_board_program(show_file, state.length, state.crc) if state.length else None
    names = LogNames(known.outputs, known.inputs, known.routines, known.clips) if known else LogNames()
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        rows = [
            {
                "number": n,
                "tick": e.tick,
                "kind": e.kind,
                "subject": e.subject,
                "value": e.value,
                "text": text,
            }
            for n, e, text in ((one.number, one.entry, entry_words(one.entry, names)) for one in entries)
        ]
        program = {"bytes": state.length, "crc32": f"{state.crc:08x}"} if state.length else None
        click.echo(json_of({"board": board.value(), "program": program, "entries": rows}))
    else:
        room = look_of(sys.stdout).width
        for number, entry, text in log_rows([(one.number, one.entry) for one in entries], names):
            head = f"{number:>5}  {entry.tick / 1000:>11.3f} s  "
            first, *more = indented(visible(text), " " * len(head), room)
            click.echo("\n".join([head + first[len(head) :], *more]))
