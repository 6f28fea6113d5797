"""`new NAME`: writes a first show to begin from."""

from __future__ import annotations

from pathlib import Path

import click

from sequencer.cli.files import write_whole
from sequencer.cli.options import ShowPath, json_option
from sequencer.cli.say import say
from sequencer.cli.text import shell_word, split_lines, visible
from sequencer.cli.trouble import WrongUse


@click.command()
@click.argument("name", type=ShowPath)
@json_option
def command(name: Path, as_json: bool) -> None:
    """Write a first show, small and whole, into NAME.show. Never writes over a file."""
    path = name if name.suffix == ".show" else name.with_name(name.name + ".show")
    title = path.stem.replace("_", " ").strip()
    if not title or '"' in title or visible(title) != title:
        raise WrongUse(f"{path.stem} cannot be the name of a show; use letters, digits, spaces and _.")
    if path.exists():
        raise WrongUse(f"There is {path} already; it was left as it is.")
    write_whole(path, first_show(title).encode("utf-8"))
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"file": str(path), "title": title}))
        return
    say("good", f"{path} is there. Try `sequencer check {shell_word(str(path))}` next.")


def first_show(title: str) -> str:
    """The first show that comes with the tool, under this title."""
    from sequencer.data import folder

    lines = split_lines((folder("shows") / "first.show").read_text(encoding="utf-8"))
    return "\n".join([f'show "{title}"', *lines[1:]])
