"""`demo`: the example show from text to board in one go, on this computer alone.

Each part is what the command of the same name does. The virtual board keeps its memory in a folder that is
gone afterwards, and its time is counted, not waited for.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.compile import image_of
from sequencer.cli.options import color_option
from sequencer.cli.shows import compiled_or_findings, read_show
from sequencer.cli.terminal import ColourChoice, Look, look_of
from sequencer.cli.text import counted
from sequencer.cli.trouble import FINDINGS

if TYPE_CHECKING:
    from sequencer.cli.shows import Reading
    from sequencer.schedule import Compiled

_SEED = 7
_FIRST_TRIP_TICK = 3_000
_BETWEEN_TRIPS_TICKS = 7_000
_RUN_TICKS = 24_000
_Trip = tuple[int, int]
"""The tick and the number of the input."""


@click.command()
@color_option
def command(color: ColourChoice) -> int:
    """Take the example show from text to a virtual board, and say what each step does. Nothing real moves."""
    from sequencer.data import folder

    look = look_of(sys.stdout, color)
    path = folder("shows") / "marrow_lane" / "marrow_lane.show"
    _head("check", "reads the cue sheet and looks for everything that is wrong with it", look)
    reading = read_show(path)
    compiled = compiled_or_findings(reading, color)
    if compiled is None:
        return FINDINGS
    routines = counted(len(compiled.program.routines), "routine")
    click.echo(f'"{reading.checked.show.title}": no errors, {routines}.')
    image = image_of(compiled)
    _head("compile", "makes the step tables that the board runs", look)
    click.echo(f"{len(image)} bytes.")
    trips = _trips(compiled)
    asked = [f"--trip {compiled.names.inputs[index]}@{tick / 1000:g}s" for tick, index in trips]
    _head(f"dryrun {' '.join(asked)}", "runs those tables here", look)
    click.echo(_timeline(reading, compiled, trips, look), color=look.colour)
    _head("flash, arm, trip, log", "load them onto a board, here a virtual one, and run them there", look)
    for line in _on_a_board(compiled, image, trips):
        click.echo(line)
    click.echo("\nNow `sequencer new my_first` writes a show of your own to begin from.")
    return 0


def _head(command_name: str, what: str, look: Look) -> None:
    click.echo(f"\n{look.paint('place', f'sequencer {command_name}')} {what}:\n", color=look.colour)


def _trips(compiled: Compiled) -> tuple[_Trip, ...]:
    """Every input that starts a scare, one after the other."""
    inputs = dict.fromkeys(start.input for routine in compiled.program.routines for start in routine.starts)
    return tuple((_FIRST_TRIP_TICK + turn * _BETWEEN_TRIPS_TICKS, index) for turn, index in enumerate(inputs))


def _timeline(reading: Reading, compiled: Compiled, trips: tuple[_Trip, ...], look: Look) -> str:
    from sequencer.air.stroke import predict_stroke
    from sequencer.dryrun.run import Asked, run
    from sequencer.dryrun.triggers import read_triggers
    from sequencer.dryrun.wiring import set_up
    from sequencer.pages.terminal import draw_timeline
    from sequencer.pages.terminal_view import View

    setup = set_up(compiled, reading.checked.show, predict_stroke)
    sensors = compiled.names.inputs
    triggers, _ = read_triggers(tuple(f"{sensors[index]}@{tick}ms" for tick, index in trips), sensors)
    timeline = run(setup, Asked(triggers, _SEED, _RUN_TICKS, False))
    ascii_only = (sys.stdout.encoding or "ascii").lower().replace("-", "") != "utf8"
    return draw_timeline(timeline, View(min(look.width, 100), ascii_only, look.colour, 0, None, 12))


class _CountedClock:
    """Time that passes when it is told to."""

    def __init__(self) -> None:
        self._ms = 0.0

    def now(self) -> float:
        return self._ms / 1000

    def wall_ms(self) -> int:
        return round(self._ms)

    def sleep(self, seconds: float) -> None:
        self._ms += 1000 * seconds


def _on_a_board(compiled: Compiled, image: bytes, trips: tuple[_Trip, ...]) -> Iterator[str]:
    """What happens on a virtual board that is loaded, armed and tripped."""
    from sequencer.board.flash import flash
    from sequencer.board.log import LogNames, entry_words
    from sequencer.board.ports import open_link, who
    from sequencer.board.profiles import profile_by_kind

    profile = profile_by_kind(compiled.program.board)
    assert profile is not None
    clock = _CountedClock()
    with tempfile.TemporaryDirectory() as folder:
        url = f"virtual://demo?board={profile.name}&seed={_SEED}&file={Path(folder, 'memory').as_posix()}"
        link, identity = open_link(url, clock)
        with link:
            report = flash(link, image, profile)
            yield f"{who(identity)}: {report.length} bytes loaded, read back and confirmed."
            link.arm()
            armed = clock.now()
            for tick, index in trips:
                clock.sleep(tick / 1000 - (clock.now() - armed))
                link.trip(index, 200)
            clock.sleep(_RUN_TICKS / 1000 - (clock.now() - armed))
            entries = link.log()
            link.disarm()
    names = compiled.names
    known = LogNames(names.outputs, names.inputs, names.routines, names.clips)
    for one in entries:
        yield f"{one.entry.tick / 1000:>10.3f} s  {entry_words(one.entry, known)}"
