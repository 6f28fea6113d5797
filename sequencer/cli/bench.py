"""`bench OUTPUT`: drives one output by hand, for a moment, while somebody watches.

The board lets go by itself unless it is asked anew, so it also lets go when this program, its computer or the
cable dies. No option answers for the person: without a terminal nothing is driven.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.ask import show_caution, somebody_answers, type_yes
from sequencer.cli.door import answer, board_at, mode_words, refuse, state_with_program
from sequencer.cli.durations import LEVEL, TICKS
from sequencer.cli.names import index_of, names_of_board_program
from sequencer.cli.options import json_option, port_option, show_option
from sequencer.cli.trouble import WrongUse

if TYPE_CHECKING:
    from sequencer.board.link import Link

MOST_TICKS = 10_000
"""The longest drive by hand, in ms: long enough to look, short enough to be watched."""
_HOLD_TICKS = 400
"""How long each request holds, in ms; the board takes at most 500."""
_RENEW_S = 0.15


@click.command()
@click.argument("output")
@click.option("--level", type=LEVEL, default="on", show_default=True, help="on, off or a share such as 60 %.")
@click.option("--for", "ticks", type=TICKS, default="500 ms", show_default=True, help="At most 10 s.")
@show_option
@port_option
@json_option
def command(output: str, level: int, ticks: int, show_file: Path | None, port: str, as_json: bool) -> None:
    """Drive one output by hand for a moment. This moves air for real.

    OUTPUT is a name of the show or a number. The board must be disarmed. Ctrl-C lets go at once.
    """
    show_caution("bench")
    if ticks > MOST_TICKS:
        raise WrongUse(f"An output is driven by hand for at most {MOST_TICKS // 1000} s.")
    if not somebody_answers():
        raise WrongUse("This needs somebody who watches and answers on a terminal; nothing was moved.")
    with board_at(port, quiet=as_json) as board:
        state = state_with_program(board, "drive")
        if mode_words(state) == "armed":
            refuse("drive", "armed")
        names = names_of_board_program(show_file, state.length, state.crc)
        index = index_of(output, names.outputs if names else (), "output")
        name = names.outputs[index] if names and index < len(names.outputs) else f"output {index}"
        type_yes(f"Drive {name} of {board.words} at {round(level / 2.55)} % for {ticks} ms?")
        _drive(board.link, index, level, ticks)
        answer(
            board,
            board.link.state(),
            f"{name} was driven for {ticks} ms.",
            as_json,
            output=index,
            level=level,
        )


def _drive(link: Link, output: int, level: int, ticks: int) -> None:
    """Holds the output, asking anew in good time; whatever interrupts this, the board is told to let go."""
    end = time.monotonic() + ticks / 1000
    try:
        while (left := end - time.monotonic()) > 0:
            link.drive(output, level, max(1, min(_HOLD_TICKS, round(left * 1000))))
            time.sleep(min(_RENEW_S, left))
    except BaseException:
        # Also on Ctrl-C: the board would let go by itself, but not at once.
        link.disarm()
        raise
