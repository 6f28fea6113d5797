"""A caution, shown at its moment, and the answer of the person it is for.

Cautions go to stderr. Without a terminal there is nobody to answer, so a command that needs an answer stops.
"""

from __future__ import annotations

import sys

import click

from sequencer.cautions import caution
from sequencer.cli.say import say
from sequencer.cli.terminal import is_terminal, look_of
from sequencer.cli.text import harmless, indented, width
from sequencer.cli.trouble import WrongUse

_PROMPT = "Type yes to go on: "


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


def type_yes(what: str, undone: str = "nothing was done") -> None:
    """Waits until somebody types yes to `what`, a question. `undone` is what is true until then.

    Raises WrongUse for any other answer. On Ctrl-C it says so and lets it through.
    """
    room = look_of(sys.stderr).width
    rows = indented(harmless(what), "", room)
    gap = " " if width(rows[-1]) + len(f" {_PROMPT}yes") <= room else "\n"
    click.echo("\n".join(rows) + gap + _PROMPT, nl=False, err=True)
    try:
        said = sys.stdin.readline()
    except KeyboardInterrupt:
        click.echo(err=True)
        say("note", f"Left with Ctrl-C; {undone}.", err=True)
        raise
    if not said.endswith("\n"):
        click.echo(err=True)
    if said.strip().casefold() != "yes":
        raise WrongUse(f"The answer was not yes, so {undone}.")
