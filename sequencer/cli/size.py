"""`size`: what a prop is to do -> the standard cylinders, tubes and valves that do it, least air first."""

from __future__ import annotations

import sys
from typing import Any, get_args

import click

from sequencer.cli.measures import UnquotedCommand, measured
from sequencer.cli.options import json_option
from sequencer.cli.say import say
from sequencer.cli.stroke import wrong
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented
from sequencer.cli.trouble import WrongUse
from sequencer.units import Quantity, read_quantity

NEEDED = {"moves": "the load", "travel": "the travel", "time": "the time", "regulator": "the pressure"}
TUBE_LENGTH = {"inch": "10 ft", "metric": "3 m"}
"""The tube that is taken for granted (common practice, no source)."""


@click.command(cls=UnquotedCommand)
@measured("--moves --load moves", "mass", "What the rod is to move.")
@measured("--travel --stroke travel", "length", "How far: the stroke.")
@measured("--time time", "time", "From the switching of the valve until it is out.")
@measured("--regulator --pressure regulator", "pressure", "The pressure there is.")
@measured("--lifts --angle lifts", "angle", "Above level while going out; 90 deg is straight up.")
@measured("--back back", "time", "The same for the way back, where it matters.")
@measured("--length length", "length", "Length of the tube to each port.")
@click.option("--series", "system", type=click.Choice(["inch", "metric"]), help="Sizes; without it as `--travel`.")
@click.option("--reach", type=click.Choice(["none", "fenced", "possible"]), help="Whether people can reach it.")
@json_option
def command(as_json: bool, **said: Any) -> int | None:
    """Which standard bores, tubes and valves move a load so far in so much time.

    \b
      sequencer size --load 25 lb --angle 20 deg --travel 12 in --time 0.8 s --regulator 60 psi

    Every set is reckoned as `stroke` reckons it, with margin, and ranked by the air it takes. Metric bores are those of
    ISO 6432 and ISO 15552.
    """
    from sequencer.air.integrate import NotSettling
    from sequencer.sizing.given import Unfit
    from sequencer.sizing.size import check, choices, nearest

    try:
        wanted, assumed = _wanted(said)
        check(wanted)
        found = choices(wanted)
        near = None if found else nearest(wanted)
    except Unfit as fault:
        raise wrong(fault) from None
    except NotSettling as fault:
        raise WrongUse(f"This cannot be reckoned: {fault}.") from None
    if as_json:
        from sequencer.cli.formats import as_json as json_of
        from sequencer.pages.size_text import choices_value

        click.echo(json_of({"size": choices_value(wanted, found, near), "assumed": assumed}))
    else:
        _tell(wanted, found, near, assumed)
    return None


def _wanted(said: dict[str, Any]) -> tuple[Any, list[str]]:
    from sequencer.sizing.given import Unfit
    from sequencer.sizing.shelves import System, system_of
    from sequencer.sizing.size import Wanted

    for field, words in NEEDED.items():
        if said[field] is None:
            raise Unfit(field, f"{words} is not said")
    assumed: list[str] = []
    system: System = said["system"] or system_of(said["travel"])
    assert system in get_args(System)
    length: Quantity | None = said["length"]
    if length is None:
        length = read_quantity(TUBE_LENGTH[system])
        assumed.append(f"tube length {length}")
    lifts: Quantity | None = said["lifts"]
    if lifts is None:
        lifts = read_quantity("0 deg")
        assumed.append("the load moves level")
    return Wanted(said["moves"], lifts, said["travel"], said["time"], said["back"], said["regulator"], length, system,
                  said["reach"]), assumed


def _tell(wanted: Any, found: Any, near: Any, assumed: list[str]) -> None:
    from sequencer.pages.size_text import choice_notes, choice_rows, look_closer, nearest_words, wanted_words

    room = look_of(sys.stdout).width
    click.echo("\n".join([*indented(wanted_words(wanted), "", room), ""]))
    if not found:
        say("warning", nearest_words(wanted, near))
        _say_assumed(assumed)
        return
    click.echo("\n".join([*choice_rows(wanted, found), ""]))
    for note in choice_notes(wanted, found):
        click.echo("\n".join(indented(note, "", room)))
    _say_assumed(assumed)
    _caution(wanted, found)
    click.echo("\n".join(["", "the first from nearby:", *indented(look_closer(found[0]), "  ", room)]))


def _say_assumed(assumed: list[str]) -> None:
    if assumed:
        say("note", f"Not said, so taken for granted: {'; '.join(assumed)}.")


def _caution(wanted: Any, found: Any) -> None:
    from sequencer.sizing.judge import CONTACT

    if any(remark.kind in CONTACT for choice in found for remark in choice.remarks):
        from sequencer.cautions import caution

        asked = " Say `--reach none` or `--reach fenced` where nobody can." if wanted.reach is None else ""
        say("warning", caution("reach").text + asked)
