"""`check FILE`: everything that is wrong with a show, and how to mend it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.options import ShowPath, color_option, json_option
from sequencer.cli.shows import Reading, as_typed, read_show, say_findings
from sequencer.cli.terminal import ColourChoice, look_of
from sequencer.cli.text import visible
from sequencer.cli.trouble import FINDINGS

if TYPE_CHECKING:
    from sequencer.cli.mend import Mended

_FORMATS = ("text", "json", "sarif", "github")


@click.command()
@click.argument("file", type=ShowPath)
@click.option("--format", "form", type=click.Choice(_FORMATS), default="text", help="How findings are said.")
@json_option
@click.option("--mend", is_flag=True, help="Make the mends that are safe and write the file.")
@click.option("--dry", is_flag=True, help="With --mend: show what would be changed and write nothing.")
@color_option
def command(file: Path, form: str, as_json: bool, mend: bool, dry: bool, color: ColourChoice) -> int:
    """Find everything that is wrong with a show.

    The exit code is 1 where an error was found. Warnings and notes keep nothing from being compiled.
    """
    if dry and not mend:
        raise click.UsageError("`--dry` goes with `--mend`.", click.get_current_context())
    if as_json:
        form = "json"
    reading = read_show(file)
    mended: tuple[str, ...] | None = None
    if mend:
        reading, mended = _mend(reading, dry, color, quiet=form != "text")
    _say(reading, form, mended, color)
    return FINDINGS if reading.has_errors else 0


def _mend(reading: Reading, dry: bool, color: ColourChoice, quiet: bool) -> tuple[Reading, tuple[str, ...]]:
    """Makes the safe mends. With `dry` the reading stays that of the file as it is."""
    from sequencer.cli.mend import mend_show, write_mended

    mended = mend_show(reading.path, reading.checked)
    if not dry:
        write_mended(mended)
        if mended.changes:
            reading = as_typed(reading.path, mended.checked)
    if not quiet:
        _say_changes(mended, dry, color)
    return reading, tuple(str(before.path) for before, _ in mended.changes)


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


def _say(reading: Reading, form: str, mended: tuple[str, ...] | None, color: ColourChoice) -> None:
    findings = reading.findings
    if form == "text":
        say_findings(findings, reading, color)
    elif form == "json":
        from sequencer.cli.formats import as_json, findings_value

        extra = {} if mended is None else {"mended": list(mended)}
        click.echo(as_json({**findings_value(findings), **extra}))
    elif form == "github":
        from sequencer.cli.formats import findings_github

        if findings:
            click.echo(findings_github(findings))
    else:
        from sequencer.checks import catalogue
        from sequencer.cli.sarif import findings_sarif

        click.echo(findings_sarif(findings, catalogue()))
