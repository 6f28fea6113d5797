"""`shelf [KIND]`: the generic parts that `like` takes values from, each value with its source."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from sequencer.cli.options import json_option
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented, listed
from sequencer.cli.trouble import WrongUse
from sequencer.findings import closest

if TYPE_CHECKING:
    from sequencer.rig.shelf import ShelfPart


_NAME = 28
_NARROW = 72


@click.command()
@click.argument("what", required=False, metavar="[KIND|PART|WORD]")
@json_option
def command(what: str | None, as_json: bool) -> None:
    """List the generic parts that `like` takes values from.

    With the name of a kind or of a part: what each says, and where each value comes from. With any other word:
    the parts that have it in their name or in what is said of them.
    """
    from sequencer.rig.shelf import STOCKED, stock

    parts = stock()
    if what is None:
        found = list(parts.values())
    elif what in STOCKED:
        found = [part for part in parts.values() if part.kind == what]
    elif what in parts:
        found = [parts[what]]
    elif not (found := [part for part in parts.values() if _speaks_of(part, what)]):
        near = closest(what, [*STOCKED, *parts], 3)
        meant = f" Did you mean {listed(near)}?" if near else f" There are the kinds {listed(STOCKED)}."
        raise WrongUse(f"Nothing on the shelf is called {what} or speaks of it.{meant}")
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"parts": [_value(part) for part in found]}))
    elif what in STOCKED or what in parts:
        room = look_of(sys.stdout).width
        click.echo("\n\n".join("\n".join(_whole(part, room)) for part in found))
    else:
        room = look_of(sys.stdout).width
        click.echo("\n".join(row for part in found for row in _line(part, room)))


def _speaks_of(part: ShelfPart, word: str) -> bool:
    return word.casefold() in f"{part.kind} {part.name} {part.name.replace('_', ' ')} {part.about}".casefold()


def _line(part: ShelfPart, room: int) -> list[str]:
    """The part in one line; in a narrow window what it is stands below its name."""
    if room < _NARROW:
        return [part.name, *indented(part.about, "    ", room)]
    first, *more = indented(part.about, " " * (_NAME + 1), room)
    return [f"{part.name:<{_NAME}}{first[_NAME:]}", *more]


def _whole(part: ShelfPart, room: int) -> list[str]:
    """What the part says, the source of each value beside it, or below it where there is no room."""
    wide = max((len(phrase) for phrase, _ in part.says), default=0)
    rows = indented(f"{part.kind} {part.name}: {part.about}", "", room)
    for phrase, source in part.says:
        beside = f"    {phrase:<{wide}}   # {source}"
        if len(beside) <= room:
            rows.append(beside)
            continue
        first, *more = indented(source, " " * 10, room)
        rows += [f"    {phrase}", f"        # {first[10:]}", *(f"        #{row[9:]}" for row in more)]
    return rows


def _value(part: ShelfPart) -> dict[str, object]:
    says = [{"phrase": phrase, "source": source} for phrase, source in part.says]
    return {"name": part.name, "kind": part.kind, "about": part.about, "says": says}
