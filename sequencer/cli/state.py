"""`state`: what a board is doing and what it holds."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.door import Board, board_at, mode_words
from sequencer.cli.names import names_of_board_program
from sequencer.cli.options import json_option, port_option, show_option
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented, listed, visible

if TYPE_CHECKING:
    from sequencer.board.link import BoardState
    from sequencer.steps.listing import Names


@click.command()
@show_option
@port_option
@json_option
def command(show_file: Path | None, port: str, as_json: bool) -> None:
    """Say what a board is doing, which program it holds, and what its inputs and outputs are at."""
    # Its first row says which board it is.
    with board_at(port, quiet=True) as board:
        state = board.link.state()
        levels = board.link.levels(board.identity.limits.outputs) if state.length else ()
    names = names_of_board_program(show_file, state.length, state.crc) if state.length else None
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"board": board.value(), **_value(state, levels, names)}))
    else:
        room = look_of(sys.stdout).width
        for head, words in _rows(board, state, levels, names):
            first, *more = indented(words, " " * 10, room)
            click.echo("\n".join([f"{head + ':':<9} {first[10:]}", *more]))


def _rows(
    board: Board, state: BoardState, levels: Sequence[int], names: Names | None
) -> list[tuple[str, str]]:
    rows = [
        ("board", board.words),
        ("mode", f"{mode_words(state)}, {state.tick / 1000:.3f} s after it started"),
    ]
    if not state.length:
        return [*rows, ("program", "none")]
    standing = state.standing.name.lower().replace("_", " ")
    rows.append(("program", f"{state.length} bytes, checksum {state.crc:08x}, {standing}"))
    tripped = [_name(names.inputs if names else (), index, "input") for index in state.tripped]
    rows.append(("tripped", listed(tripped) or "no sensor"))
    lit = [
        f"{_name(names.outputs if names else (), index, 'output')} {_share(level)}"
        for index, level in enumerate(levels)
        if level
    ]
    rows.append(("on", listed(lit) or "no output"))
    if state.fault:
        rows.append(("fault", _fault(state.fault)))
    return rows


def _value(state: BoardState, levels: Sequence[int], names: Names | None) -> dict[str, Any]:
    return {
        "mode": state.mode.name.lower(),
        "tick": state.tick,
        "program": None
        if not state.length
        else {
            "bytes": state.length,
            "crc32": f"{state.crc:08x}",
            "show_id": state.show,
            "standing": state.standing.name.lower(),
        },
        "tripped": [_name(names.inputs if names else (), index, "input") for index in state.tripped],
        "levels": {
            _name(names.outputs if names else (), index, "output"): level
            for index, level in enumerate(levels)
        },
        "fault": _fault(state.fault) if state.fault else None,
        "random": state.random,
    }


def _name(names: Sequence[str], index: int, noun: str) -> str:
    return visible(names[index]) if index < len(names) else f"{noun} {index}"


def _share(level: int) -> str:
    return "on" if level == 255 else f"{level / 2.55:.0f} %"


def _fault(code: int) -> str:
    from sequencer.steps import FaultCode

    try:
        return FaultCode(code).name.lower().replace("_", " ")
    except ValueError:
        return f"code {code}"
