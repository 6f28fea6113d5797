"""`flash FILE`: a show, or a program already compiled, onto a board."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.ask import must_be_answerable, show_caution, type_yes
from sequencer.cli.door import Board, board_at, must_be_there
from sequencer.cli.flash_firmware import put_firmware
from sequencer.cli.names import remember
from sequencer.cli.options import ShowPath, color_option, json_option, port_option, yes_option
from sequencer.cli.progress import Progress
from sequencer.cli.say import say
from sequencer.cli.terminal import ColourChoice
from sequencer.cli.trim import tune_board, value_of, words_of
from sequencer.cli.trouble import FINDINGS, WrongUse

if TYPE_CHECKING:
    from sequencer.board.flash import FlashReport
    from sequencer.board.link import BoardState
    from sequencer.board.profiles import Profile
    from sequencer.board.tuning import Tuned
    from sequencer.steps import Program
    from sequencer.steps.listing import Names


@dataclass(frozen=True, slots=True)
class _Load:
    """What is to be loaded; `names` are there where it comes from a show."""

    image: bytes
    program: Program
    names: Names | None


@dataclass(frozen=True, slots=True)
class _Wanted:
    """The options."""

    port: str
    yes: bool
    firmware: Path | None
    no_trim: bool
    backup: Path | None
    as_json: bool
    color: ColourChoice


@dataclass(frozen=True, slots=True)
class _Done:
    """What was done: a show loaded, a clock corrected, firmware put there; each may be None."""

    report: FlashReport | None
    tuned: Tuned | None
    firmware: dict[str, Any] | None


@click.command()
@click.argument("file", type=ShowPath, required=False)
@port_option
@yes_option
@click.option("--firmware", type=ShowPath, metavar="HEX", help="Put this firmware on the board first.")
@click.option("--no-trim", is_flag=True, help="Leave the board's clock as it is.")
@click.option("--backup", type=ShowPath, metavar="FILE", help="Where the board's old program is kept.")
@json_option
@color_option
def command(file: Path | None, **options: Any) -> int:
    """Load a show onto a board. The board stays disarmed.

    FILE is a show, or a program made by `compile`. The program that the board held is kept in a file;
    flashing that file puts it back. Nothing is written to a board that is armed or of another kind, and
    nothing where the board holds this program already.

    A board whose clock was never corrected has it measured for 20 s and corrected. --firmware puts the board's
    own firmware on it first, by the general AVR loader; FILE may be left out then.
    """
    wanted = _Wanted(**options)
    if file is None and wanted.firmware is None:
        raise WrongUse("Name a show to load, or the board's own firmware with --firmware.")
    must_be_there(wanted.port)
    load = _load(file, wanted.port, wanted.color, wanted.as_json) if file is not None else None
    if file is not None and load is None:
        return FINDINGS
    put = None
    if wanted.firmware is not None:
        put = put_firmware(wanted.firmware, wanted.port, wanted.yes)
    if load is None:
        with board_at(wanted.port, quiet=True) as board:
            _say(board, _Done(None, None, put), wanted.as_json)
        return 0
    _ask(load, wanted)
    with board_at(wanted.port, quiet=wanted.as_json) as board:
        if not wanted.yes:
            type_yes(f"Load {file} onto {board.words}?", "nothing was written")
        report = _flash(board, load, wanted.backup, wanted.as_json)
        tuned = None if wanted.no_trim else _tuned(board, wanted.as_json)
    if load.names is not None:
        remember(load.names, load.image)
    _say(board, _Done(report, tuned, put), wanted.as_json)
    return 0


def _ask(load: _Load, wanted: _Wanted) -> None:
    """Shows the cautions that belong here. Raises WrongUse where nobody can answer."""
    if wanted.firmware is None:
        show_caution("flash")
    if not _has_stop(load.program):
        show_caution("stop")
    must_be_answerable(wanted.yes)


def _load(file: Path, port: str, color: ColourChoice, as_json: bool) -> _Load | None:
    """The program in the file; None where the show has errors, which are said then.

    Raises BoardError where it does not fit the board that `port` names, as far as that is known unasked.
    """
    import zlib

    from sequencer.board.errors import BadImage
    from sequencer.board.fitness import Unfit, fit_program
    from sequencer.cli.names import recall
    from sequencer.steps import BadProgram, decode
    from sequencer.steps.layout import MAGIC

    with file.open("rb") as opened:
        start = opened.read(2)
    if start in (MAGIC.to_bytes(2, "little"), MAGIC.to_bytes(2, "big")):
        image = file.read_bytes()
        try:
            program = decode(image)
        except BadProgram as fault:
            raise WrongUse(f"{file} is not a program for a board: {str(fault).rstrip('.')}.") from None
        _must_fit(program, port)
        names = recall(zlib.crc32(image))
        fit = fit_program(image, _profile_of(program), names)
        if isinstance(fit, Unfit):
            raise BadImage(fit.sentence)
        return _Load(image, program, names)
    from sequencer.cli.compile import image_of
    from sequencer.cli.names import names_of
    from sequencer.cli.shows import compiled_or_findings, read_show

    reading = read_show(file)
    if reading.checked.compiled is not None:
        _must_fit(reading.checked.compiled.program, port)
    compiled = compiled_or_findings(reading, color, quiet=as_json)
    if compiled is not None:
        return _Load(image_of(compiled), compiled.program, names_of(compiled, reading.checked.show))
    if as_json:
        from sequencer.cli.formats import findings_json

        click.echo(findings_json(reading.findings))
    return None


def _has_stop(program: Program) -> bool:
    from sequencer.steps import InputKind

    return any(entry.kind is InputKind.STOP for entry in program.inputs)


def _profile_of(program: Program) -> Profile:
    from sequencer.board.errors import BadImage
    from sequencer.board.profiles import profile_by_kind

    profile = profile_by_kind(program.board)
    if profile is None:
        raise BadImage(f"it is for a kind of board that this version does not know, number {program.board}")
    return profile


def _must_fit(program: Program, port: str) -> None:
    """Raises WrongBoardKind where `port` names a virtual board of another kind. None is made or opened for that."""
    from sequencer.board.errors import WrongBoardKind

    profile = _profile_of(program)
    if not port.lower().startswith("virtual:"):
        return
    from sequencer.board.virtual import options_of

    named = options_of(port).profile
    if named.kind != profile.kind:
        fault = WrongBoardKind(profile.name, named.name)
        url = f"virtual://{profile.name}?board={profile.name}"
        fault.add_note(f'A virtual board of the right kind comes with --port "{url}".')
        raise fault


def _flash(board: Board, load: _Load, backup: Path | None, quiet: bool) -> FlashReport:
    from sequencer.board.flash import flash

    profile = _profile_of(load.program)
    backup = backup or _backup_path(board.link.state())
    try:
        with Progress("Loading and reading back", quiet) as progress:
            return flash(board.link, load.image, profile, progress, backup)
    except KeyboardInterrupt:
        say("warning", _left(board, load.image), err=True)
        raise


def _left(board: Board, image: bytes) -> str:
    """What became of a loading that was left with Ctrl-C; the board is asked, as only it knows how far it came."""
    import zlib

    from sequencer.board.errors import BoardError
    from sequencer.board.store import Standing

    try:
        board.link.identify()
        state = board.link.state()
    except (BoardError, KeyboardInterrupt):
        return "Left with Ctrl-C; `sequencer state` says which program the board holds."
    if (state.length, state.crc) != (len(image), zlib.crc32(image)):
        kept = "keeps the program it had" if state.length else "still has no program"
        return f"Left with Ctrl-C; the board {kept}, and nothing of the new one runs."
    if state.standing is Standing.ON_TRIAL:
        return "Left with Ctrl-C; the new program is whole on the board, on trial: flash it once more to confirm it."
    return "Left with Ctrl-C; the new program is whole on the board and confirmed."


def _backup_path(state: BoardState) -> Path:
    from sequencer.board.virtual import state_folder

    return state_folder() / "backups" / f"{state.crc:08x}.steps"


def _tuned(board: Board, quiet: bool) -> Tuned | None:
    """Corrects a clock that never was, where the board has one of its own. Raises BoardError."""
    from sequencer.board.errors import BoardError
    from sequencer.board.profiles import HOST
    from sequencer.board.tuning import MEASURE_S

    if board.is_virtual or board.identity.kind == HOST.kind or board.link.trim().kept:
        return None
    try:
        return tune_board(board, MEASURE_S, quiet)
    except BoardError as fault:
        fault.add_note("The show itself is loaded and confirmed; `sequencer trim` sees to the clock alone.")
        raise


def _say(board: Board, done: _Done, as_json: bool) -> None:
    report = done.report
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        value: dict[str, Any] = {"board": board.value()}
        value |= {"firmware": done.firmware} if done.firmware else {}
        value |= {"flashed": _value(report)} if report else {}
        value |= {"trim": value_of(done.tuned)} if done.tuned else {}
        click.echo(json_of(value))
        return
    if done.firmware is not None:
        say("good", f"The firmware is written and read back; {board.words} answers.")
    if report is not None and report.written:
        said = f"{report.length} bytes, checksum {report.crc:08x}, are on the board, read back and confirmed."
    elif report is not None:
        said = f"The board holds this program already ({report.length} bytes); nothing was written."
    if report is not None:
        say("good", f"{said} It is not armed.")
    if report is not None and report.backup is not None:
        say("note", f"The old program is in {report.backup}; `sequencer flash` with that file puts it back.")
    if done.tuned is not None:
        say("good", words_of(done.tuned))


def _value(report: FlashReport) -> dict[str, Any]:
    return {
        "written": report.written,
        "bytes": report.length,
        "crc32": f"{report.crc:08x}",
        "generation": report.generation,
        "backup": str(report.backup) if report.backup else None,
        "bytes_sent": report.bytes_sent,
        "bytes_received": report.bytes_received,
        "repeats": report.repeats,
    }
