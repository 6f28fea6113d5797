"""`check FILE...`: everything that is wrong with shows, and how to mend it."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.options import ShowPath, color_option, json_option
from sequencer.cli.shows import Reading, as_typed, read_show, say_findings
from sequencer.cli.terminal import ColourChoice, look_of
from sequencer.cli.text import visible
from sequencer.cli.trouble import FINDINGS
from sequencer.frozen import frozen

if TYPE_CHECKING:
    from sequencer.cli.mend import Mended

_FORMATS = ("text", "json", "sarif", "github")


@frozen
class _Result:
    """One show after its check. `mended` are the files of its mends; None where none were asked for."""

    reading: Reading
    mended: tuple[str, ...] | None


@click.command()
@click.argument("files", type=ShowPath, nargs=-1, required=True, metavar="FILE...")
@click.option("--format", "form", type=click.Choice(_FORMATS), default="text", help="How findings are said.")
@json_option
@click.option("--mend", is_flag=True, help="Make the mends that are safe and write the file.")
@click.option("--dry", is_flag=True, help="With --mend: show what would be changed and write nothing.")
@color_option
def command(
    files: tuple[Path, ...], form: str, as_json: bool, mend: bool, dry: bool, color: ColourChoice
) -> int:
    """Find everything that is wrong with a show, or with several.

    The exit code is 1 where an error was found. Warnings and notes keep nothing from being compiled.
    """
    if dry and not mend:
        raise click.UsageError("`--dry` goes with `--mend`.", click.get_current_context())
    if as_json:
        form = "json"
    # All are read before anything is said: a file that is not there is told alone.
    readings = [read_show(file) for file in files]
    results = []
    for turn, reading in enumerate(readings):
        if form == "text" and turn:
            click.echo()
        result = _mend(reading, dry, color, quiet=form != "text") if mend else _Result(reading, None)
        if form == "text":
            say_findings(result.reading.findings, result.reading, color)
        results.append(result)
    if form != "text":
        _say_to_programs(results, form)
    return FINDINGS if any(result.reading.has_errors for result in results) else 0


def _mend(reading: Reading, dry: bool, color: ColourChoice, quiet: bool) -> _Result:
    """Makes the safe mends. With `dry` the reading stays that of the file as it is."""
    from sequencer.cli.mend import mend_show, write_mended

    # Read again: a show before it may have shared a file with it and have had it mended.
    reading = read_show(reading.path)
    mended = mend_show(reading.path, reading.checked)
    if not dry:
        write_mended(mended)
        if mended.changes:
            reading = as_typed(reading.path, mended.checked)
    if not quiet:
        _say_changes(mended, dry, color)
    return _Result(reading, tuple(str(before.path) for before, _ in mended.changes))


def _say_changes(mended: Mended, dry: bool, color: ColourChoice) -> None:
    from sequencer.cli.changes import diff
    from sequencer.cli.text import counted

    look = look_of(sys.stdout, color)
    for before, after in mended.changes:
        click.echo(diff(before, after, look), color=look.colour)
    if mended.changes:
        names = ", ".join(visible(str(before.path)) for before, _ in mended.changes)
        head = "would be made in" if dry else "made in"
        line = f"{look.paint('good', '[ok]')} {counted(len(mended.made), 'mend')} {head} {names}.\n"
    else:
        line = f"{look.paint('note', '[i]')} There is nothing that is safe to mend unasked.\n"
    click.echo(line, color=look.colour)


def _say_to_programs(results: Sequence[_Result], form: str) -> None:
    """The findings of all shows in one document, each once, even where two shows use the file that it is in."""
    findings = tuple(dict.fromkeys(finding for result in results for finding in result.reading.findings))
    if form == "json":
        from sequencer.cli.formats import as_json, counts_of, findings_value

        files = [{"file": str(r.reading.path), **counts_of(r.reading.findings)} for r in results]
        mended = [file for result in results for file in result.mended or ()]
        extra = {} if results[0].mended is None else {"mended": list(dict.fromkeys(mended))}
        click.echo(as_json({**findings_value(findings), "files": files, **extra}))
    elif form == "github":
        from sequencer.cli.formats import findings_github

        if findings:
            click.echo(findings_github(findings))
    else:
        from sequencer.checks import catalogue
        from sequencer.cli.sarif import findings_sarif

        click.echo(findings_sarif(findings, catalogue()))
