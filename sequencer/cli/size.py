"""`size`: what a prop is to do -> the standard cylinders, tubes and valves that do it, least air first."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.measures import UnquotedCommand, measured
from sequencer.cli.one_cylinder import (
    OPTIONS,
    driven_options,
    echo_folded,
    reach_option,
    say_assumed,
    say_reach,
    wrong,
)
from sequencer.cli.options import json_option
from sequencer.cli.say import say
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented
from sequencer.cli.trouble import WrongUse
from sequencer.units import UNITS, Quantity, read_quantity

if TYPE_CHECKING:
    from sequencer.sizing.shelves import System

NEEDED = {"moves": "the load", "travel": "the travel", "time": "the time", "regulator": "the pressure"}
TYPED_AS = OPTIONS | {"stroke": "travel"}
"""How a field of a part is typed here."""
TUBE_LENGTH = {"inch": "10 ft", "metric": "3 m"}
"""The tube that is taken for granted (common practice, no source)."""


@click.command(cls=UnquotedCommand)
@measured("--moves --load moves", "mass", "What the rod is to move.")
@measured("--travel --stroke travel", "length", "How far: the stroke.")
@measured("--time time", "time", "From the switching of the valve until it is out.")
@measured("--regulator --pressure regulator", "pressure", "The pressure there is.")
@measured("--lifts --angle lifts", "angle", "Above level while going out; 90 deg is straight up.")
@measured("--back back", "time", "The same for the way back, where it matters.")
@driven_options
@measured("--length length", "length", "Length of the tube to each port.")
@click.option("--series", "system", type=click.Choice(["inch", "metric"]), help="Sizes; without it as `--travel`.")
@reach_option
@json_option
def command(as_json: bool, **said: Any) -> int | None:
    """Which standard bores, tubes and valves move a load so far in so much time.

    \b
      sequencer size --load 25 lb --angle 20 deg --travel 12 in --time 0.8 s --regulator 60 psi

    What the rod drives is said as for `stroke`, and the travel is then that of the rod; where a lever, a scissor or a
    four-bar takes a stroke of its own, it need not be said:

    \b
      sequencer size --time 0.8 s --regulator 60 psi
        --lever rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg,
        swings from -30 deg to 15 deg, arm 36 in, carries 6 lb

    Every set is reckoned as `stroke` reckons it, with margin, and ranked by the air it takes. Metric bores are those of
    ISO 6432 and ISO 15552.
    """
    from sequencer.air.integrate import NotSettling
    from sequencer.sizing.made import Unfit
    from sequencer.sizing.size import check, choices, nearest

    try:
        wanted, assumed = _wanted(said)
        check(wanted)
        found = choices(wanted)
        near = None if found else nearest(wanted)
    except Unfit as fault:
        raise wrong(fault, TYPED_AS) from None
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
    from sequencer.sizing.driven import DRIVEN
    from sequencer.sizing.made import Unfit
    from sequencer.sizing.shelves import system_of
    from sequencer.sizing.size import Wanted

    assumed: list[str] = []
    drives = {kind: said[kind] for kind in DRIVEN if said[kind]}
    travel = said["travel"] or _travel_taken(drives, said["system"], assumed)
    given = {**said, "travel": travel, "moves": said["moves"] or drives or None}
    for field, words in NEEDED.items():
        if given[field] is None:
            raise Unfit(field, f"{words} is not said")
    system: System = said["system"] or system_of(travel)
    length: Quantity | None = said["length"]
    if length is None:
        length = read_quantity(TUBE_LENGTH[system])
        assumed.append(f"tube length {length}")
    lifts: Quantity | None = said["lifts"]
    if lifts is None:
        lifts = read_quantity("0 deg")
        if said["moves"] is not None:
            assumed.append("the load moves level")
    return Wanted(said["moves"], lifts, travel, said["time"], said["back"], said["regulator"], length, system,
                  said["reach"], drives), assumed


def _travel_taken(drives: dict[str, Any], system: str | None, assumed: list[str]) -> Quantity | None:
    """The stroke that what turns on the rod takes, in the unit it was said in; None where nothing turns."""
    from sequencer.sizing.driven import as_taken, stroke_taken, unit_of

    like = unit_of(drives) if system is None else UNITS["in" if system == "inch" else "mm"]
    taken = None if like is None else stroke_taken(drives, like)
    if taken is not None:
        assumed.append(as_taken(taken))
    return taken


def _tell(wanted: Any, found: Any, near: Any, assumed: list[str]) -> None:
    from sequencer.pages.size_text import choice_notes, choice_rows, look_closer, nearest_words, wanted_words

    echo_folded(*wanted_words(wanted), "")
    if not found:
        say("warning", nearest_words(wanted, near))
        say_assumed(assumed)
        return
    click.echo("\n".join([*choice_rows(wanted, found), ""]))
    echo_folded(*choice_notes(wanted, found))
    say_assumed(assumed)
    for sentence in found[0].given.driven.early_ends:
        say("note", sentence)
    say_reach((remark for choice in found for remark in choice.remarks), wanted.reach)
    room = look_of(sys.stdout).width
    click.echo("\n".join(["", "the first from nearby:", *indented(look_closer(found[0]), "  ", room)]))
