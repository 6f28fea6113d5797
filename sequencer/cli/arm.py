"""`arm`: lets sensors start scares."""

from __future__ import annotations

import click

from sequencer.cli.ask import must_be_answerable, show_caution, type_yes
from sequencer.cli.door import answer, board_at, must_be_there
from sequencer.cli.options import json_option, port_option, yes_option


@click.command()
@port_option
@yes_option
@json_option
def command(port: str, yes: bool, as_json: bool) -> None:
    """Let sensors start scares. Shows what to look at first and waits for a yes."""
    must_be_there(port)
    show_caution("arm")
    show_caution("arm.public")
    must_be_answerable(yes)
    with board_at(port, quiet=as_json) as board:
        if not yes:
            type_yes(f"Arm {board.words}?", "nothing was armed")
        board.link.arm()
        answer(board, board.link.state(), "", as_json)
