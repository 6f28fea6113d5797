"""`format FILE`: puts a show into the one style there is, or says whether it is in it."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sequencer.cli.files import TextFile, read_text_file, write_text_file
from sequencer.cli.options import ShowPath, color_option, json_option
from sequencer.cli.terminal import ColourChoice, look_of
from sequencer.cli.text import visible
from sequencer.cli.trouble import FINDINGS, WrongUse


@click.command()
@click.argument("files", type=ShowPath, nargs=-1, required=True, metavar="FILE...")
@click.option(
    "--check", "only_check", is_flag=True, help="Write nothing; exit code 1 where a file would change."
)
@click.option("--diff", "show_diff", is_flag=True, help="Write nothing; show what would change.")
@json_option
@color_option
def command(
    files: tuple[Path, ...], only_check: bool, show_diff: bool, as_json: bool, color: ColourChoice
) -> int:
    """Put shows into the one style. What they mean and their comments stay.

    A file with a line that cannot be read is left as it is. `-` reads standard input and writes to standard
    output.
    """
    if files == (Path("-"),):
        return _standard_streams()
    states = {
        str(path): _format(path, not (only_check or show_diff), show_diff, as_json, color) for path in files
    }
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"files": [{"file": name, "state": state} for name, state in states.items()]}))
    failing = {"unreadable"} if not (only_check or show_diff) else {"unreadable", "changed"}
    return FINDINGS if failing & set(states.values()) else 0


def _format(path: Path, write: bool, show_diff: bool, quiet: bool, color: ColourChoice) -> str:
    """Formats one file and says so; returns `changed`, `fine` or `unreadable`."""
    try:
        before = read_text_file(path)
    except UnicodeDecodeError:
        raise WrongUse(f"{path} is not UTF-8 text; save it as UTF-8 first.") from None
    after = TextFile(path, _formatted(before.text), before.bom)
    if after == before:
        state = "fine" if _can_be_read(before) else "unreadable"
    else:
        state = "changed"
        if write:
            write_text_file(after)
    if not quiet:
        _say(before, after, state, write, show_diff, color)
    return state


def _say(
    before: TextFile, after: TextFile, state: str, write: bool, show_diff: bool, color: ColourChoice
) -> None:
    look = look_of(sys.stdout, color)
    name = visible(str(before.path))
    if show_diff and state == "changed":
        from sequencer.cli.changes import diff

        click.echo(diff(before, after, look), color=look.colour)
    words = {
        "fine": ("good", "[ok]", "is in style."),
        "changed": ("good", "[ok]", "was put into style.")
        if write
        else ("warning", "[!]", "is not in style."),
        "unreadable": (
            "error",
            "[x]",
            "was left as it is, since a line cannot be read; `sequencer check` says which.",
        ),
    }
    style, sign, said = words[state]
    click.echo(f"{look.paint(style, sign)} {name} {said}", color=look.colour)


def _standard_streams() -> int:
    """From standard input to standard output; what cannot be read goes out as it came in."""
    data = click.get_binary_stream("stdin").read()
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise WrongUse("Standard input is not UTF-8 text.") from None
    bom = text.startswith("\ufeff")
    file = TextFile(Path("-"), text.removeprefix("\ufeff"), bom)
    after = _formatted(file.text)
    click.get_binary_stream("stdout").write((("\ufeff" if bom else "") + after).encode("utf-8"))
    return 0 if after != file.text or _can_be_read(file) else FINDINGS


def _formatted(text: str) -> str:
    from sequencer.language.formatter import format_source

    return format_source(text)


def _can_be_read(file: TextFile) -> bool:
    from sequencer.findings import has_errors
    from sequencer.language.reader import read_document

    return not has_errors(read_document(file.text.encode("utf-8"), file.path.name).findings)
