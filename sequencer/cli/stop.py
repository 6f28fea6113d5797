"""`stop`: the quickest way from here to every output at its safe level. It acts first and speaks after."""

from __future__ import annotations

import click

from sequencer.cli.ask import show_caution
from sequencer.cli.door import answer, board_at, must_be_confirmed
from sequencer.cli.options import json_option, port_option


@click.command()
@port_option
@json_option
def command(port: str, as_json: bool) -> None:
    """Put every output to its safe level now, without asking. Not an emergency stop.

    It goes through a computer, a cable and a program. A wired stop that cuts valve power and vents the air is
    yours to fit.
    """
    try:
        with must_be_confirmed(), board_at(port, quiet=True) as board:
            board.link.disarm()
            state = board.link.state()
            answer(board, state, f"Stopped {board.words}.", as_json)
    finally:
        show_caution("stop")
