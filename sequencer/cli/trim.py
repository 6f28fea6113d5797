"""`trim`: a board's clock measured against this computer's, and corrected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.door import Board, answer, board_at, must_be_there
from sequencer.cli.durations import TICKS
from sequencer.cli.options import json_option, port_option
from sequencer.cli.progress import Progress

if TYPE_CHECKING:
    from sequencer.board.tuning import Tuned

_RIGHT = 20e-6
"""Off by less than this, a measurement of 20 s tells a clock from a right one hardly."""


@click.command()
@click.option("--for", "ticks", type=TICKS, default="20 s", show_default=True, help="How long it is measured.")
@port_option
@json_option
def command(ticks: int, port: str, as_json: bool) -> None:
    """Measure a board's clock against this computer's, and correct it.

    A board with a ceramic resonator is off by up to half a percent, 300 ms in a minute against its sound. The
    board keeps the correction. Nothing moves. `flash` does this by itself where a board has none yet.
    """
    must_be_there(port)
    with board_at(port, quiet=as_json) as board:
        tuned = tune_board(board, ticks / 1000, as_json)
        answer(board, board.link.state(), words_of(tuned), as_json, trim=value_of(tuned))


def tune_board(board: Board, seconds: float, quiet: bool) -> Tuned:
    """Measures and corrects the board's clock. Raises BoardError, refused where the board is armed."""
    from sequencer.board.tuning import tune

    with Progress("Measuring the board's clock", quiet) as progress:
        return tune(board.link, seconds, progress=progress)


def words_of(tuned: Tuned) -> str:
    """What was found and done, in a sentence or two."""
    found = tuned.found
    if abs(found.error) <= _RIGHT:
        return f"The board's clock is right: {abs(found.error) * 1e6:.0f} millionths off, by this measurement."
    way = "fast" if found.error > 0 else "slow"
    return (
        f"The board's clock ran {100 * abs(found.error):.3f} % {way}, {abs(found.error) * 60_000:.0f} ms in a minute; "
        f"it is corrected now. By this measurement at most {found.bound * 60_000:.1f} ms in a minute are left."
    )


def value_of(tuned: Tuned) -> dict[str, Any]:
    """The same as plain values; parts are of a million."""
    from sequencer.board.settings import TRIM_UNIT

    return {
        "fast_ppm": round(1e6 * tuned.found.error, 1),
        "bound_ppm": round(1e6 * tuned.found.bound, 1),
        "seconds": round(tuned.found.seconds, 1),
        "correction_ppm": round(1e6 * tuned.after * TRIM_UNIT, 1),
    }
