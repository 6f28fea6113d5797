"""`trip SENSOR`: trips an input by hand, as its sensor would."""

from __future__ import annotations

from pathlib import Path

import click

from sequencer.cli.door import answer, board_at, state_with_program
from sequencer.cli.durations import TICKS
from sequencer.cli.names import index_of, names_of_board_program
from sequencer.cli.options import json_option, port_option, show_option


@click.command()
@click.argument("sensor")
@click.option("--for", "ticks", type=TICKS, default="200 ms", show_default=True, help="How long it is held.")
@show_option
@port_option
@json_option
def command(sensor: str, ticks: int, show_file: Path | None, port: str, as_json: bool) -> None:
    """Trip a sensor by hand, as if somebody had walked in. An armed board starts its scares.

    SENSOR is a name of the show or a number.
    """
    with board_at(port, quiet=as_json) as board:
        state = state_with_program(board, "trip")
        names = names_of_board_program(show_file, state.length, state.crc)
        index = index_of(sensor, names.inputs if names else None, "sensor")
        board.link.trip(index, ticks)
        said = f"Tripped {sensor} for {ticks} ms."
        answer(board, board.link.state(), said, as_json, input=index, ticks=ticks)
