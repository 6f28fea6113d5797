"""A caution, shown at its moment, and the answer of the person it is for.

Cautions go to stderr. Without a terminal there is nobody to answer, so a command that needs an answer stops.
"""

from __future__ import annotations

import sys

import click

from sequencer.cautions import caution
from sequencer.cli.terminal import is_terminal, look_of
from sequencer.cli.text import indented
from sequencer.cli.trouble import WrongUse


def show_caution(name: str) -> None:
    """Shows one caution, whole."""
    look = look_of(sys.stderr)
    rows = indented(caution(name).text, "    ", look.width)
    head = look.paint("warning", "[!] Caution")
    click.echo("\n".join([head, *rows, ""]), err=True, color=look.colour)


def somebody_answers() -> bool:
    """Whether there is a person at a terminal who sees the question and can type."""
    return is_terminal(sys.stdin) and is_terminal(sys.stderr)


def must_be_answerable(yes: bool) -> None:
    """Raises WrongUse where a question would have nobody to answer it and `--yes` has not done so before."""
    if not yes and not somebody_answers():
        raise WrongUse(
            "There is no terminal to answer on, so nothing was done. Read the caution, then add --yes."
        )


def type_yes(what: str) -> None:
    """Waits until somebody types yes to `what`, a question. Raises WrongUse for any other answer."""
    click.echo(f"{what} Type yes to go on: ", nl=False, err=True)
    said = sys.stdin.readline()
    if not said.endswith("\n"):
        click.echo(err=True)
    if said.strip().casefold() != "yes":
        raise WrongUse("The answer was not yes, so nothing was done.")
