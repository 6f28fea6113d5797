"""`compile FILE`: a show into the bytes for its board, or into a listing of its steps."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.files import write_whole
from sequencer.cli.options import ShowPath, color_option, json_option
from sequencer.cli.say import say
from sequencer.cli.shows import compiled_or_findings, read_show
from sequencer.cli.terminal import ColourChoice, is_terminal, window
from sequencer.cli.text import counted, listed
from sequencer.cli.trouble import FINDINGS, WrongUse

if TYPE_CHECKING:
    from sequencer.schedule import Compiled
    from sequencer.show import Show
    from sequencer.steps import Program
    from sequencer.steps.cycles import Bound

SUFFIX = ".steps"


@click.command()
@click.argument("file", type=ShowPath)
@click.option(
    "-o", "--output", type=ShowPath, metavar="OUT", help="Where the bytes go; `-` is standard output."
)
@click.option("--listing", is_flag=True, help="Print every step with its bytes and its time.")
@json_option
@color_option
def command(file: Path, output: Path | None, listing: bool, as_json: bool, color: ColourChoice) -> int:
    """Compile a show into step tables for its board.

    The bytes go to OUT; without it beside the show, with the ending .steps, or with --listing nowhere.
    """
    to_stdout = output == Path("-")
    if to_stdout and (listing or as_json):
        raise click.UsageError(
            "`-o -` writes the bytes where the words would go.", click.get_current_context()
        )
    if to_stdout and is_terminal(sys.stdout):
        raise WrongUse(
            "The bytes of a program are not for a terminal; give a file after `-o`, or use --listing."
        )
    reading = read_show(file)
    compiled = compiled_or_findings(reading, color, quiet=as_json)
    if compiled is None:
        if as_json:
            _say_json({**_findings(reading), "program": None})
        return FINDINGS
    image = image_of(compiled)
    if to_stdout:
        click.get_binary_stream("stdout").write(image)
        return 0
    target = output or (None if listing else file.with_suffix(SUFFIX))
    if target is not None:
        write_whole(target, image)
    if as_json:
        value = {**program_value(compiled, image), "file": _name(target)}
        if listing:
            value["listing"] = listing_of(compiled, reading.checked.show).splitlines()
        _say_json({**_findings(reading), "program": value})
    else:
        if listing:
            click.echo(listing_of(compiled, reading.checked.show, window(sys.stdout)), nl=False)
        _say(compiled, image, target, color)
    return 0


def image_of(compiled: Compiled) -> bytes:
    """The bytes for the board."""
    from sequencer.steps import encode

    return encode(compiled.program)


def program_value(compiled: Compiled, image: bytes) -> dict[str, Any]:
    """The program as plain values: its size, its checksum, and the names in the order of its tables."""
    import zlib

    from sequencer.steps.flow import flow_of

    program = compiled.program
    return {
        "board": _board_name(program.board),
        "show_id": program.show_id,
        "bytes": len(image),
        "crc32": f"{zlib.crc32(image):08x}",
        "outputs": list(compiled.names.outputs),
        "inputs": list(compiled.names.inputs),
        "routines": list(compiled.names.routines),
        "takes_ms": [list(flow_of(routine.steps).takes) for routine in program.routines],
        "clips": list(compiled.names.clips),
        "steps": sum(len(routine.steps) for routine in program.routines),
        "cycles": _cycles_value(program),
    }


def _cycles_value(program: Program) -> dict[str, Any] | None:
    bounds = bounds_of(program)
    if bounds is None:
        return None
    bound, one_start = bounds
    parts = [{"what": words, "cycles": cycles} for words, cycles in bound.parts]
    return {"at_most": bound.cycles, "per_ms": bound.per_tick, "parts": parts, "one_start": one_start}


def listing_of(compiled: Compiled, show: Show, width: int | None = None) -> str:
    """Every step with its bytes, its time and the line it comes from, folded at `width` columns if given."""
    from sequencer.cli.names import names_of
    from sequencer.steps.listing import listing

    source = tuple(tuple((step.span.line, step.note) for step in routine) for routine in compiled.sources)
    bounds = bounds_of(compiled.program)
    lines = "" if bounds is None else f"\n{_folded(bound_words(*bounds), width)}\n"
    return listing(compiled.program, names_of(compiled, show), source, width) + lines


def bounds_of(program: Program) -> tuple[Bound, int] | None:
    """The most that a tick of the program takes the board, and in cycles the most that one sensor starts.

    None where nobody has measured what things cost the board.
    """
    from sequencer.board.profiles import profile_by_kind
    from sequencer.memo import Memo
    from sequencer.steps.cycles import started_together, worst_tick

    profile = profile_by_kind(program.board)
    costs = profile and profile.costs
    if not profile or not costs:
        return None
    memo = Memo()
    starts = started_together(program, profile.limits, costs, memo)
    most = max((one.bound.cycles for one in starts), default=0)
    return worst_tick(program, profile.limits, costs, memo), most


def bound_words(bound: Bound, one_start: int) -> str:
    """The bound in sentences, and what it goes into.

    >>> from sequencer.steps.cycles import Bound
    >>> bound_words(Bound(20_000, 16_000, (("steps", 20_000),)), 9_000)[:78]
    'In a millisecond at most 20,000 cycles of 16,000 (125 %), if all that can fall'
    """
    parts = listed([f"{words} {cycles:,}" for words, cycles in bound.parts if cycles])
    late_ms = bound.cycles / bound.per_tick - 1
    late = f", late by {late_ms:.1f} ms then" if late_ms > 0 else ""
    said = [f"In a millisecond at most {bound.cycles:,} cycles of {bound.per_tick:,} ({100 * bound.share:.0f} %), if "
            f"all that can fall into one does{late}: {parts}."]  # fmt: skip
    if one_start:
        said.append(f"What one sensor starts takes at most {one_start:,}.")
    return " ".join(said)


def _folded(text: str, width: int | None) -> str:
    import textwrap

    return textwrap.fill(text, width, break_long_words=False, break_on_hyphens=False) if width else text


def scares_words(program: Program) -> str:
    """How many scares and idles a program has.

    >>> from sequencer.steps import Routine
    >>> scares_words(Program(1, 0, (), (), (Routine(()), Routine((), idle=True), Routine((), idle=True))))
    '1 scare and 2 idles'
    """
    idles = sum(routine.idle for routine in program.routines)
    scares = len(program.routines) - idles
    return listed([counted(scares, "scare"), *([counted(idles, "idle")] if idles else [])])


def _say(compiled: Compiled, image: bytes, target: Path | None, color: ColourChoice) -> None:
    program = compiled.program
    room = _room(program.board)
    of_room = f" of {room}" if room else ""
    steps = sum(len(routine.steps) for routine in program.routines)
    where = f" in {target}" if target else ""
    said = f"{len(image)}{of_room} bytes for {_board_name(program.board)}{where}: {scares_words(program)}"
    say("good", f"{said}, {counted(steps, 'step')}.", err=True, color=color)


def _board_name(kind: int) -> str:
    from sequencer.board.profiles import profile_by_kind

    profile = profile_by_kind(kind)
    return profile.name if profile else f"a board of kind {kind}"


def _room(kind: int) -> int | None:
    from sequencer.board.profiles import profile_by_kind

    profile = profile_by_kind(kind)
    return profile.slot_bytes if profile else None


def _findings(reading: Any) -> dict[str, Any]:
    from sequencer.cli.formats import findings_value

    return findings_value(reading.findings)


def _name(target: Path | None) -> str | None:
    return str(target) if target is not None else None


def _say_json(value: dict[str, Any]) -> None:
    from sequencer.cli.formats import as_json

    click.echo(as_json(value))
