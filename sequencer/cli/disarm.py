"""`disarm`: ends every scare; outputs go to their safe levels."""

from __future__ import annotations

import click

from sequencer.cli.door import answer, board_at, must_be_confirmed
from sequencer.cli.options import json_option, port_option


@click.command()
@port_option
@json_option
def command(port: str, as_json: bool) -> None:
    """End every scare and let no sensor start one; outputs go to their safe levels."""
    with must_be_confirmed(), board_at(port, quiet=as_json) as board:
        board.link.disarm()
        answer(board, board.link.state(), "Every output is at its safe level.", as_json)
