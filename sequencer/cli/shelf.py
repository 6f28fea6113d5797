"""`shelf [KIND]`: the generic parts that `like` takes values from, each value with its source."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sequencer.cli.options import json_option
from sequencer.cli.text import listed
from sequencer.cli.trouble import WrongUse
from sequencer.findings import closest

if TYPE_CHECKING:
    from sequencer.rig.shelf import ShelfPart


@click.command()
@click.argument("what", required=False, metavar="[KIND|PART]")
@json_option
def command(what: str | None, as_json: bool) -> None:
    """List the generic parts that `like` takes values from.

    With the name of a kind or of a part: what each says, and where each value comes from.
    """
    from sequencer.rig.shelf import STOCKED, stock

    parts = stock()
    if what is None:
        found = list(parts.values())
    elif what in STOCKED:
        found = [part for part in parts.values() if part.kind == what]
    elif what in parts:
        found = [parts[what]]
    else:
        near = closest(what, [*STOCKED, *parts], 3)
        meant = f" Did you mean {listed(near)}?" if near else f" There are the kinds {listed(STOCKED)}."
        raise WrongUse(f"The shelf has no kind and no part called {what}.{meant}")
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"parts": [_value(part) for part in found]}))
    elif what is None:
        click.echo("\n".join(f"{part.name:<28} {part.about}" for part in found))
    else:
        click.echo("\n\n".join(_whole(part) for part in found))


def _whole(part: ShelfPart) -> str:
    wide = max((len(phrase) for phrase, _ in part.says), default=0)
    rows = [f"    {phrase:<{wide}}   # {source}" for phrase, source in part.says]
    return "\n".join([f"{part.kind} {part.name}: {part.about}", *rows])


def _value(part: ShelfPart) -> dict[str, object]:
    says = [{"phrase": phrase, "source": source} for phrase, source in part.says]
    return {"name": part.name, "kind": part.kind, "about": part.about, "says": says}
