"""What the outputs, sensors and scares of a program are called: from its show, or kept since its loading.

A program carries no names. Whoever loads a show onto a board keeps its names in a file by the program's
checksum, so that a later command can say `trip step` instead of a number. Names are only used for the very
program they belong to: the checksum decides, nothing is guessed.
"""

from __future__ import annotations

import contextlib
import json
import zlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from sequencer.cli.files import write_whole
from sequencer.cli.text import listed
from sequencer.cli.trouble import WrongUse
from sequencer.findings import closest

if TYPE_CHECKING:
    from sequencer.schedule import Compiled
    from sequencer.show import Show
    from sequencer.steps import Program
    from sequencer.steps.listing import Names

_TABLES = ("outputs", "inputs", "routines", "clips")
_PINS = ("output_pins", "input_pins")


def wired(names: Names | None, program: Program, board: str = "") -> Names:
    """The names with the kind of board, and the pin of each output and input by the name that the board gives it.

    `board` is what the author calls the board. Without `names` all else goes by numbers.
    """
    from sequencer.board.profiles import profile_by_kind
    from sequencer.steps.listing import Names

    names = names or Names.numbered(program)
    profile = profile_by_kind(program.board)
    if profile is None:
        return names
    outputs = [_pin(board, [pin.name for pin in profile.outputs], output.pin) for output in program.outputs]
    inputs = [_pin(board, [pin.name for pin in profile.inputs], sensor.pin) for sensor in program.inputs]
    return replace(names, board=profile.name, output_pins=tuple(outputs), input_pins=tuple(inputs))


def _pin(board: str, pins: Sequence[str], index: int) -> str:
    name = pins[index] if index < len(pins) else f"pin {index}, which it has not"
    return f"{board} {name}" if board else name


def names_of(compiled: Compiled, show: Show) -> Names:
    """The names of a compiled show, with its pins as its author writes them."""
    boards = show.of_kind("board")
    return wired(compiled.names, compiled.program, boards[0].part.name if boards else "")


def names_of_show(path: Path, image: bytes) -> Names:
    """The names of the show at `path`. Raises WrongUse where `image` is not what it compiles to."""
    names, made = _compiled(path)
    if made != image:
        raise WrongUse(f"The program was not compiled from {path} as it now stands, so its names do not fit.")
    return names


def names_of_board_program(show_file: Path | None, length: int, crc: int) -> Names | None:
    """The names of the program that a board holds: of the show named, else as remembered, else None.

    Raises WrongUse where the board's program was not compiled from the show named.
    """
    if show_file is None:
        return recall(crc)
    names, image = _compiled(show_file)
    if (len(image), zlib.crc32(image)) != (length, crc):
        raise WrongUse(
            f"The board's program was not compiled from {show_file} as it now stands; flash it anew."
        )
    return names


def _compiled(path: Path) -> tuple[Names, bytes]:
    from sequencer.cli.compile import image_of
    from sequencer.cli.shows import compiled_or_findings, read_show

    reading = read_show(path)
    compiled = compiled_or_findings(reading)
    if compiled is None:
        raise WrongUse(f"{path} does not compile, so it cannot lend its names.")
    return names_of(compiled, reading.checked.show), image_of(compiled)


def remember(names: Names, image: bytes) -> None:
    """Keeps the names for later commands. Where the disk refuses, later commands go by numbers."""
    value = {table: list(getattr(names, table)) for table in (*_TABLES, *_PINS)} | {"board": names.board}
    with contextlib.suppress(OSError):
        path = _file(zlib.crc32(image))
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, json.dumps(value).encode("ascii"))


def recall(crc: int) -> Names | None:
    """The names kept for the program of this checksum, or None where there are none that can be read."""
    from sequencer.steps.listing import Names

    try:
        value = json.loads(_file(crc).read_bytes())
        tables = {table: tuple(str(name) for name in value[table]) for table in _TABLES}
        pins = {table: tuple(str(name) for name in value.get(table, ())) for table in _PINS}
        return Names(**tables, **pins, board=str(value.get("board", "")))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _file(crc: int) -> Path:
    from sequencer.board.virtual import state_folder

    return state_folder() / "names" / f"{crc:08x}.json"


def index_of(said: str, known: Sequence[str] | None, noun: str) -> int:
    """The number of the output or sensor that was named, or said by its number. Raises WrongUse.

    >>> index_of("step", ("mat", "step"), "sensor")
    1
    """
    if known is not None and not known:
        raise WrongUse(f"The board's program has no {noun}.")
    known = known or ()
    if said in known:
        return known.index(said)
    if said.isascii() and said.isdecimal() and len(said) < 4:
        return int(said)
    if not known:
        raise WrongUse(
            "The board's program carries no names, and the show it came from is not known here. "
            f"Give the {noun} by its number, or name the show with --show."
        )
    ends = [name for name in known if name.rpartition(".")[2] == said]
    if len(ends) == 1:
        return known.index(ends[0])
    near = ends or closest(said, known, 3)
    meant = f" Did you mean {listed(near)}?" if near else f" There are {listed(known)}."
    raise WrongUse(f"There is no {noun} called {said}.{meant}")
