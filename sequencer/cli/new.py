"""`new NAME`: writes a first show to begin from."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sequencer.cli.files import write_whole
from sequencer.cli.options import ShowPath
from sequencer.cli.terminal import look_of
from sequencer.cli.text import split_lines, visible
from sequencer.cli.trouble import WrongUse


@click.command()
@click.argument("name", type=ShowPath)
def command(name: Path) -> None:
    """Write a first show, small and whole, into NAME.show. Never writes over a file."""
    path = name if name.suffix == ".show" else name.with_name(name.name + ".show")
    title = path.stem.replace("_", " ").strip()
    if not title or '"' in title or visible(title) != title:
        raise WrongUse(f"{path.stem} cannot be the name of a show; use letters, digits, spaces and _.")
    if path.exists():
        raise WrongUse(f"There is a file {path} already; it was left as it is.")
    write_whole(path, first_show(title).encode("utf-8"))
    look = look_of(sys.stdout)
    told = visible(str(path))
    click.echo(f"{look.paint('good', '[ok]')} {told} is there. Try `sequencer check {told}` next.")


def first_show(title: str) -> str:
    """The first show that comes with the tool, under this title."""
    from sequencer.data import folder

    lines = split_lines((folder("shows") / "first.show").read_text(encoding="utf-8"))
    return "\n".join([f'show "{title}"', *lines[1:]])
