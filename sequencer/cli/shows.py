"""A show's path -> the show checked, with its findings named by paths as they were typed.

The checks name files from the folder of the show on; on a command line a place must be one that can be
opened.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sequencer.cli.render import render_findings, summary
from sequencer.cli.say import say
from sequencer.cli.terminal import ColourChoice, look_of
from sequencer.cli.text import counted, shell_word
from sequencer.findings import Edit, Finding, Label, Mend, Severity, Span
from sequencer.frozen import frozen

if TYPE_CHECKING:
    from sequencer.checks import Checked
    from sequencer.schedule import Compiled


MOST_SHOWN = 200
"""Findings that are printed as text: nobody mends more at one sitting, and 20,000 would take half a minute."""


@frozen
class Reading:
    """A show on disk, checked. `findings` and `texts` go by paths from the working folder."""

    path: Path
    checked: Checked
    findings: tuple[Finding, ...]
    texts: Mapping[str, str]

    @property
    def has_errors(self) -> bool:
        return any(finding.severity is Severity.ERROR for finding in self.findings)


def read_show(path: Path) -> Reading:
    """Checks the show at `path`. Raises OSError where the file itself cannot be read."""
    from sequencer.checks import check_file

    return as_typed(path, check_file(path))


def as_typed(path: Path, checked: Checked) -> Reading:
    """`checked` with every file named by the folder that was typed with the show's own path."""
    folder = path.parent
    texts = {str(folder / name): text for name, text in checked.texts.items()}
    findings = tuple(checked.findings)
    if str(folder) != ".":
        findings = tuple(_moved(finding, folder) for finding in findings)
    return Reading(path, checked, findings, texts)


def _moved(finding: Finding, folder: Path) -> Finding:
    def moved(span: Span) -> Span:
        return replace(span, file=str(folder / span.file))

    labels = tuple(Label(moved(label.span), label.text) for label in finding.labels)
    mends = tuple(
        Mend(mend.title, tuple(Edit(moved(edit.span), edit.text) for edit in mend.edits), mend.safe)
        for mend in finding.mends
    )
    return replace(finding, span=moved(finding.span), labels=labels, mends=mends)


def compiled_or_findings(
    reading: Reading, color: ColourChoice = "auto", quiet: bool = False
) -> Compiled | None:
    """The program of the show; None where errors keep it from being one.

    Errors, warnings and how many notes there are go to stderr unless `quiet`, since what the command makes goes to
    stdout.
    """
    told = [f for f in reading.findings if f.severity is not Severity.NOTE]
    if told and not quiet:
        say_findings(told, reading, color, to_stderr=True)
    notes = len(reading.findings) - len(told)
    if notes and not quiet:
        shown = f"`sequencer check {shell_word(str(reading.path))}` shows {'it' if notes == 1 else 'them'}"
        say("note", f"{counted(notes, 'note')}; {shown}.", err=True, color=color)
    return reading.checked.compiled


def say_findings(
    findings: Iterable[Finding], reading: Reading, color: ColourChoice, to_stderr: bool = False
) -> None:
    """The findings and their count, as text."""
    told = tuple(findings)
    look = look_of(sys.stderr if to_stderr else sys.stdout, color)
    left = len(told) - MOST_SHOWN
    more = f"{look.paint('note', '[i]')} {left:,} more are not shown; mend the first ones, or see all with `--json`."
    parts = [
        render_findings(told[:MOST_SHOWN], reading.texts, look), more if left > 0 else "",
        summary(told, str(reading.path), look),
    ]
    click.echo("\n\n".join(part for part in parts if part), err=to_stderr, color=look.colour)
