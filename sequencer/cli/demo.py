"""`demo`: the example show from text to board in one go, on this computer alone.

Each part is what the command of the same name does. The virtual board keeps its memory in a folder that is
gone afterwards, and its time is counted, not waited for. No rods stand at it, so what waits for one is not tripped
there.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.compile import image_of, program_value, scares_words
from sequencer.cli.formats import counts_of
from sequencer.cli.options import color_option, json_option
from sequencer.cli.say import say
from sequencer.cli.shows import read_show, say_findings
from sequencer.cli.terminal import ColourChoice, Look, look_of
from sequencer.cli.text import indented, listed, shell_word
from sequencer.cli.trouble import FINDINGS

if TYPE_CHECKING:
    from sequencer.board.log import LogEntry, LogNames
    from sequencer.cli.shows import Reading
    from sequencer.dryrun.timeline import Timeline
    from sequencer.schedule import Compiled
    from sequencer.steps import Program

_SEED = 7
_FIRST_TRIP_TICK = 3_000
_BETWEEN_TRIPS_TICKS = 4_000
_AFTER_TRIPS_TICKS = 9_000
_LOG_SHOWN = 6
"""Entries of the board's log that are written out."""
_SEVERITIES = ("error", "warning", "note")
_Trip = tuple[int, int]
"""The tick and the number of the input."""


@dataclass(frozen=True, slots=True)
class _OnBoard:
    """What the board said of itself and of its loading, and its log as numbered entries."""

    loaded: str
    entries: tuple[tuple[int, LogEntry], ...]


@click.command()
@json_option
@color_option
def command(as_json: bool, color: ColourChoice) -> int:
    """Take the example show from text to a virtual board, and say what each step does. Nothing real moves."""
    from sequencer.data import folder

    path = folder("shows") / "marrow_lane" / "marrow_lane.show"
    here = Path.cwd()
    reading = read_show(path.relative_to(here) if path.is_relative_to(here) else path)
    compiled = reading.checked.compiled
    if compiled is None:
        say_findings(reading.findings, reading, color, to_stderr=True)
        return FINDINGS
    if as_json:
        _say_json(reading, compiled)
    else:
        _tell(reading, compiled, color)
    return 0


def _tell(reading: Reading, compiled: Compiled, color: ColourChoice) -> None:
    """A screen or two: what each command makes of the show. The commands themselves say all of it."""
    look, show = look_of(sys.stdout, color), shell_word(str(reading.path))
    image, trips = image_of(compiled), _trips(compiled)
    counts = counts_of(reading.findings)
    found = listed([f"{counts[f'{kind}s'] or 'no'} {kind}{'s' * (counts[f'{kind}s'] != 1)}" for kind in _SEVERITIES])
    _head(f"check {show}", look)
    _say(f'"{reading.checked.show.title}": {found} in {scares_words(compiled.program)}.', look)
    _head(f"compile {show}", look)
    steps = sum(step.op != "end" for one in compiled.program.routines for step in one.steps)
    _say(f"The cue lines are {steps} steps; with its tables the program takes {len(image)} bytes.", look)
    asked = " ".join(f"--trip {compiled.names.inputs[index]}@{tick / 1000:g}s" for tick, index in trips)
    _head(f"dryrun {show} {asked}", look)
    _dry_run(reading, compiled, trips, look)
    _head("flash", look, "arm", "trip", "log")
    _on_the_board(compiled, image, trips, look)
    if left := _left_out(compiled, trips):
        say("note", left, color=color)
    click.echo()
    _say("Each of these commands says more by itself: dryrun draws every sensor, device and pressure, with --page it "
         "writes a page that plays the show. Next:", look, "")
    click.echo("    sequencer new my_first          a show of your own to begin from")
    click.echo("    sequencer check my_first.show   what is wrong with it, and how to mend it")


def _dry_run(reading: Reading, compiled: Compiled, trips: tuple[_Trip, ...], look: Look) -> None:
    """The lanes of the scares, and those of the devices of one prop that the first trip moves."""
    from sequencer.pages.terminal import draw_lanes
    from sequencer.pages.terminal_view import View

    ascii_only = (sys.stdout.encoding or "ascii").lower().replace("-", "") != "utf8"
    timeline = _timeline(reading, compiled, trips)
    started = _started_by(compiled.program, trips[0][1]) if trips else set()
    props = [compiled.names.routines[number].rpartition(".")[0] for number in sorted(started)]
    only = frozenset(("scares", *[prop for prop in props if prop][:1]))
    click.echo(draw_lanes(timeline, View(min(look.width, 100), ascii_only, look.colour, only=only)), color=look.colour)
    _say(f"{timeline.ticks / 1000:g} s of the show, with {len(timeline.edges)} changes at the pins of the board, run "
         "by the rules and the tables that a board runs by.", look)


def _on_the_board(compiled: Compiled, image: bytes, trips: tuple[_Trip, ...], look: Look) -> None:
    """What the board said of the loading, and its log up to the second trip."""
    from sequencer.board.log import log_rows

    on_board = _on_a_board(compiled, image, trips_without_rods(compiled.program, trips))
    _say(on_board.loaded, look)
    rows = [(entry.tick, words) for _, entry, words in log_rows(on_board.entries, _log_names(compiled))]
    first = trips[0][0] if trips else 0
    shown = [row for row in rows if row[0] >= first][:_LOG_SHOWN]
    for tick, words in shown:
        click.echo(f"{tick / 1000:>10.3f} s  {words}")
    if len(rows) > len(shown):
        click.echo(f"{'':>10}    ... and {len(rows) - len(shown)} more entries of its log")


def _say(text: str, look: Look, indent: str = "    ") -> None:
    for line in indented(text, indent, look.width):
        click.echo(line)


def _left_out(compiled: Compiled, trips: tuple[_Trip, ...]) -> str:
    """Which sensors were tripped in the dry run only, and why; empty where none was left out."""
    kept = trips_without_rods(compiled.program, trips)
    left = [compiled.names.inputs[index] for tick, index in trips if (tick, index) not in kept]
    if not left:
        return ""
    tripped, waits = ("was", "its scare waits") if len(left) == 1 else ("were", "their scares wait")
    return (
        f"{listed(left)} {tripped} not tripped here: {waits} for a rod to arrive, and at the virtual board stands "
        "none, so no end-of-travel sensor trips."
    )


def _say_json(reading: Reading, compiled: Compiled) -> None:
    """A summary: what was checked, compiled, run here, and run on the board."""
    from sequencer.board.log import entry_words
    from sequencer.cli.formats import as_json

    image, trips = image_of(compiled), _trips(compiled)
    timeline = _timeline(reading, compiled, trips)
    on_board = _on_a_board(compiled, image, trips_without_rods(compiled.program, trips))
    names = _log_names(compiled)
    run = {
        "ticks": timeline.ticks,
        "seed": timeline.seed,
        "trips": [{"tick": tick, "sensor": compiled.names.inputs[index]} for tick, index in trips],
        "edges": len(timeline.edges),
    }
    entries = [
        {"number": number, "tick": entry.tick, "text": entry_words(entry, names)} for number, entry in on_board.entries
    ]
    title = reading.checked.show.title
    value = {"title": title, "summary": counts_of(reading.findings), "program": program_value(compiled, image)}
    click.echo(as_json({**value, "dryrun": run, "entries": entries}))


def _head(command_name: str, look: Look, *more: str) -> None:
    """The commands that come next, as they are typed."""
    typed = ", ".join(f"sequencer {name}" for name in (command_name, *more))
    lines = indented(typed.replace("--trip ", "--trip="), "", look.width)  # so that no line ends in `--trip`
    told = [look.paint("place", line.replace("--trip=", "--trip ")) for line in lines]
    click.echo("\n".join(["", *told]), color=look.colour)


def _trips(compiled: Compiled) -> tuple[_Trip, ...]:
    """Every input that starts a scare, one after the other."""
    inputs = dict.fromkeys(start.input for routine in compiled.program.routines for start in routine.starts)
    return tuple((_FIRST_TRIP_TICK + turn * _BETWEEN_TRIPS_TICKS, index) for turn, index in enumerate(inputs))


def _run_ticks(compiled: Compiled) -> int:
    """Until what the last trip starts has had its time as well."""
    return max((tick for tick, _ in _trips(compiled)), default=0) + _AFTER_TRIPS_TICKS


def trips_without_rods(program: Program, trips: tuple[_Trip, ...]) -> tuple[_Trip, ...]:
    """The trips whose scares, and all scares that those start, wait for no end-of-travel sensor."""
    waiting = {number for number, one in enumerate(program.routines) if any(s.op == "await_end" for s in one.steps)}
    return tuple((tick, index) for tick, index in trips if not waiting & _started_by(program, index))


def _started_by(program: Program, index: int) -> set[int]:
    """The scares that an input starts, by themselves or one through another."""
    found = {
        number for number, one in enumerate(program.routines) if any(start.input == index for start in one.starts)
    }
    new = set(found)
    while new:
        steps = [step for number in new for step in program.routines[number].steps if step.op == "start"]
        new = {step.args[0] for step in steps} - found
        found |= new
    return found


def _timeline(reading: Reading, compiled: Compiled, trips: tuple[_Trip, ...]) -> Timeline:
    from sequencer.dryrun.run import Asked, run
    from sequencer.dryrun.triggers import read_triggers
    from sequencer.dryrun.wiring import set_up

    setup = set_up(compiled, reading.checked.show)
    sensors = compiled.names.inputs
    triggers, _ = read_triggers(tuple(f"{sensors[index]}@{tick}ms" for tick, index in trips), sensors)
    return run(setup, Asked(triggers, _SEED, _run_ticks(compiled), False))


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


def _on_a_board(compiled: Compiled, image: bytes, trips: tuple[_Trip, ...]) -> _OnBoard:
    """What happens on a virtual board that is loaded, armed and tripped."""
    from sequencer.board.flash import flash
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
            link.arm()
            armed = clock.now()
            entries: dict[int, LogEntry] = {}
            for tick, index in trips:
                clock.sleep(tick / 1000 - (clock.now() - armed))
                link.trip(index, 200)
                # A board keeps the last entries only, so they are fetched along the way.
                entries |= {one.number: one.entry for one in link.log()}
            clock.sleep(_run_ticks(compiled) / 1000 - (clock.now() - armed))
            entries |= {one.number: one.entry for one in link.log()}
            link.disarm()
    loaded = f"{who(identity)}: {report.length} bytes loaded, read back and confirmed."
    return _OnBoard(loaded, tuple(sorted(entries.items())))


def _log_names(compiled: Compiled) -> LogNames:
    from sequencer.board.log import LogNames

    names = compiled.names
    return LogNames(names.outputs, names.inputs, names.routines, names.clips)
