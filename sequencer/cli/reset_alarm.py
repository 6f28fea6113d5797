"""`reset-alarm`: clears a latched house alarm."""

from __future__ import annotations

import click

from sequencer.cli.door import answer, board_at
from sequencer.cli.options import json_option, port_option


@click.command()
@port_option
@json_option
def command(port: str, as_json: bool) -> None:
    """Clear a latched house alarm. Does not arm.

    The board refuses until its cause is gone and somebody has worked a stop at the board: press it and let it go. A
    board that has no stop is switched off and on.
    """
    with board_at(port, quiet=as_json) as board:
        board.link.reset_alarm()
        answer(board, board.link.state(), "The house alarm is cleared.", as_json)
