"""`fit FILE`: the model set to the times taken on the real props, from the show or from a board's log."""

from __future__ import annotations

import json
import statistics
import sys
import zlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.door import board_at
from sequencer.cli.names import names_of_board_program
from sequencer.cli.options import ShowPath, json_option
from sequencer.cli.say import say
from sequencer.cli.shows import Reading, read_show
from sequencer.cli.terminal import look_of
from sequencer.cli.text import counted, indented, listed, visible
from sequencer.cli.trouble import FINDINGS, WrongUse
from sequencer.findings import closest

if TYPE_CHECKING:
    from sequencer.air.from_rig import Toward
    from sequencer.board.log import LogEntry
    from sequencer.board.travels import Travels
    from sequencer.sizing.fitted import Fitted

Times = dict[str, dict[str, list[float]]]
"""By cylinder and way, every time that was taken."""


@click.command()
@click.argument("file", type=ShowPath)
@click.argument("cylinders", nargs=-1)
@click.option("--log", type=ShowPath, metavar="FILE", help="Times from a log kept with `sequencer log --json`.")
@click.option("--port", metavar="URL", help="Times from the log of this board, which ran FILE.")
@json_option
def command(
    file: Path, cylinders: tuple[str, ...], log: Path | None, port: str | None, as_json: bool
) -> int:
    """Set the model to the times taken on the real props.

    FILE says them (`measured out 0.42 s, back 0.9 s at 60 psi`), or a board's log has them, from the switching of a
    valve to the sensor that `sees` the end. With CYLINDERS only those. Needles are set first, then friction; what
    cannot be is said. Nothing is written.
    """
    if log is not None and port is not None:
        raise WrongUse("Times come from --log or from --port, not from both.")
    reading = read_show(file)
    if reading.has_errors:
        say("warning", f"{file} has errors, and a time that one of them is about counts as not taken; `sequencer check "
                       f"{file}` shows them.", err=True)
    times: Times | None = None
    if log is not None or port is not None:
        travels = _travels(reading, _entries(reading, log, port, as_json))
        times = _by_cylinder(travels)
        _tell_left_out(travels, times, as_json)
    found = _fitted(reading, cylinders, times)
    if as_json:
        from sequencer.cli.formats import as_json as json_of
        from sequencer.pages.fit_text import fitted_value

        click.echo(json_of({"fit": [fitted_value(one) | {"times": _times_of(one, times)} for one in found]}))
    else:
        _tell(found, times)
    return FINDINGS if any(not way.reached for one in found for way in one.ways) else 0


def _entries(reading: Reading, log: Path | None, port: str | None, quiet: bool) -> list[LogEntry]:
    if log is not None:
        return _entries_of_file(log, reading)
    assert port is not None
    with board_at(port, quiet=quiet) as board:
        state = board.link.state()
        entries = [one.entry for one in board.link.log(None)]
    if not state.length:
        raise WrongUse("The board has no program, so its log times no motion.")
    names_of_board_program(reading.path, state.length, state.crc)
    return entries


def _entries_of_file(path: Path, reading: Reading) -> list[LogEntry]:
    """The entries of a file as `log --json` writes it. Raises WrongUse for any other file, and for another program."""
    from sequencer.board.log import LogEntry

    try:
        value = json.loads(path.read_bytes())
        rows, program = value["entries"], value["program"]
        ran = None if program is None else (program["bytes"], program["crc32"])
        numbers = [[row[key] for key in ("tick", "kind", "subject", "value")] for row in rows]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise WrongUse(f"{path} is no log as `sequencer log --json` writes it.") from None
    if not all(isinstance(number, int) and 0 <= number < 1 << 32 for row in numbers for number in row):
        raise WrongUse(f"{path} has an entry that is no entry of a log.")
    if ran is None or ran != _program_of(reading):
        raise WrongUse(f"{path} is of a board whose program was not compiled from {reading.path} as it now stands.")
    return [LogEntry(*row) for row in numbers]


def _program_of(reading: Reading) -> tuple[int, str] | None:
    """Length and checksum of what the show compiles to; None where it does not."""
    from sequencer.cli.compile import image_of

    compiled = reading.checked.compiled
    if compiled is None:
        return None
    image = image_of(compiled)
    return len(image), f"{zlib.crc32(image):08x}"


def _travels(reading: Reading, entries: list[LogEntry]) -> Travels:
    from sequencer.board.travels import travels
    from sequencer.dryrun.wiring import set_up

    compiled = reading.checked.compiled
    if compiled is None:
        raise WrongUse(f"{reading.path} does not compile, so a log cannot be read by it; `sequencer check` says why.")
    return travels(entries, set_up(compiled, reading.checked.show))


def _by_cylinder(travels: Travels) -> Times:
    found: Times = {}
    for travel in travels.timed:
        found.setdefault(travel.cylinder, {}).setdefault(travel.toward, []).append(travel.seconds)
    return found


def _tell_left_out(travels: Travels, times: Times, quiet: bool) -> None:
    if not quiet:
        for name, number in travels.left_out.items():
            say("note", f"{visible(name)}: {counted(number, 'arrival')} left out, not from rest at the other end.")
    if not times:
        raise WrongUse("The log times no whole stroke: it takes a sensor that `sees` the end, an arming in the log "
                       "(or a drive by hand), and a rod that began at rest at its other end.")


def _fitted(reading: Reading, cylinders: tuple[str, ...], times: Times | None) -> list[Fitted]:
    from sequencer.schedule.supply import request_for
    from sequencer.sizing.fitted import fitted, timed, times_said

    parts = reading.checked.show.parts
    known = [placed.part.name for placed in reading.checked.show.of_kind("cylinder")]
    wanted = [_named(name, known) for name in cylinders] or known
    found = []
    for name in wanted:
        part: Any = parts[name].part
        request = request_for(parts, name, 0.0, "out")
        if request is None:
            continue
        if times is not None:
            part = timed(part, _medians(times.get(name, {})))
        if not times_said(part):
            continue
        try:
            found.append(fitted(replace(request, cylinder=part)))
        except ValueError as fault:
            raise WrongUse(f"{name} cannot be reckoned: {fault}.") from None
    if not found:
        which = f"Nothing was timed on {listed(wanted)}" if cylinders else f"No cylinder of {reading.path} was timed"
        raise WrongUse(f"{which}; write `measured out 0.42 s, back 0.9 s at 60 psi` beside it, say, or name a log with "
                       "--log.")
    return found


def _medians(times: Mapping[str, list[float]]) -> dict[Toward, float]:
    return {toward: statistics.median(taken) for toward, taken in times.items()}  # type: ignore[misc]


def _named(name: str, known: list[str]) -> str:
    if name in known:
        return name
    ends = [one for one in known if one.rpartition(".")[2] == name]
    if len(ends) == 1:
        return ends[0]
    short = {one.rpartition(".")[2]: one for one in known}
    near = ends or closest(name, known, 3) or tuple(short[one] for one in closest(name, list(short), 3))
    meant = f" Did you mean {listed(near)}?" if near else f" There are {listed(known)}." if known else ""
    raise WrongUse(f"There is no cylinder called {name}.{meant}")


def _times_of(one: Fitted, times: Times | None) -> dict[str, list[float]] | None:
    return None if times is None else times.get(one.cylinder, {})


def _tell(found: list[Fitted], times: Times | None) -> None:
    from sequencer.pages.fit_text import cannot_be, fit_rows, line_for_show

    click.echo("\n\n".join("\n".join(map(visible, fit_rows(one))) for one in found))
    room = look_of(sys.stdout).width
    for one in found:
        for way in one.ways:
            if not way.reached:
                say("error", cannot_be(one, way))
        if times is not None:
            taken = times[one.cylinder]
            count = listed(f"{counted(len(taken[way.toward]), 'time')} {'out' if way.toward == 'out' else 'back'}"
                           for way in one.ways)
            line = line_for_show((way.toward, way.measured_s) for way in one.ways)
            click.echo("\n".join(["", *indented(f"{visible(one.cylinder)}: the log has {count}; to keep this, write "
                                                 f"`{line}` in its place in the show.", "", room)]))
