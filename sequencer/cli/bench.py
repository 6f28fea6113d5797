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
from sequencer.cli.door import answer, board_at, mode_words, must_be_there, refuse, state_with_program
from sequencer.cli.durations import LEVEL, TICKS
from sequencer.cli.names import index_of, names_of_board_program
from sequencer.cli.options import json_option, port_option, show_option
from sequencer.cli.say import say
from sequencer.cli.trouble import WrongUse

if TYPE_CHECKING:
    from sequencer.board.link import Link

ON = 255
"""The level of an output that is wholly on."""
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
    must_be_there(port)
    if ticks > MOST_TICKS:
        raise WrongUse(f"An output is driven by hand for at most {MOST_TICKS // 1000} s.")
    show_caution("bench")
    if not somebody_answers():
        raise WrongUse("This needs somebody who watches and answers on a terminal; nothing was moved.")
    with board_at(port, quiet=as_json) as board:
        state = state_with_program(board, "drive")
        if mode_words(state) == "armed":
            refuse("drive", "armed")
        names = names_of_board_program(show_file, state.length, state.crc)
        index = index_of(output, names.outputs if names else None, "output")
        name = names.outputs[index] if names and index < len(names.outputs) else f"output {index}"
        pins = names.output_pins if names else ()
        where = f", on {pins[index]}," if index < len(pins) else ""
        _must_be_possible(board.link, state.length, index, name, level)
        say(
            "note",
            f"This turns {name}{where} {_level_words(level)} for {ticks} ms. Then it goes back to its safe level by "
            "itself; Ctrl-C ends it at once, and the board ends it within 0.5 s if this computer or the cable fails.",
            err=True,
        )
        type_yes(f"Drive {name} of {board.words} at {round(level / 2.55)} % for {ticks} ms?", "nothing was moved")
        _drive(board.link, index, level, ticks)
        answer(
            board,
            board.link.state(),
            f"{name} was driven for {ticks} ms.",
            as_json,
            output=index,
            level=level,
        )


def _must_be_possible(link: Link, length: int, index: int, name: str, level: int) -> None:
    """Asks the board's program before the person is asked: whether it has the output, and whether that fades.

    Raises BoardRefused, and WrongUse for a level in between on an output that is only on or off.
    """
    from sequencer.steps import BadProgram, decode

    try:
        outputs = decode(link.read_back(length)).outputs
    except BadProgram:
        refuse("drive", "no program")
    if index >= len(outputs):
        refuse("drive", "no such output", index)
    if level not in (0, ON) and not outputs[index].fades:
        raise WrongUse(
            f"{name} is only on or off, so it cannot be turned {_level_words(level)}; nothing was moved. "
            "Leave --level out for on, or say --level off."
        )


def _level_words(level: int) -> str:
    return {0: "off", ON: "on"}.get(level, f"to {100 * level / ON:.0f} %")


def _drive(link: Link, output: int, level: int, ticks: int) -> None:
    """Holds the output, asking anew in good time; whatever interrupts this, the board is told to let go."""
    end = time.monotonic() + ticks / 1000
    try:
        while (left := end - time.monotonic()) > 0:
            link.drive(output, level, max(1, min(_HOLD_TICKS, round(left * 1000))))
            time.sleep(min(_RENEW_S, left))
    except BaseException as fault:
        # Also on Ctrl-C: the board would let go by itself, but not at once.
        link.disarm()
        if isinstance(fault, KeyboardInterrupt):
            say("note", "Left with Ctrl-C; the board has let go of the output.", err=True)
        raise
