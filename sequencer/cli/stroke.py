"""`stroke`: what one cylinder does, asked without a show: times, forces, air, pictures, and a sweep of one input."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.measures import UnquotedCommand, measured
from sequencer.cli.one_cylinder import driven_options, echo_folded, reach_option, say_assumed, say_reach, wrong
from sequencer.cli.options import json_option
from sequencer.cli.pictures import png_option, svg_option, write_pictures
from sequencer.cli.say import say
from sequencer.cli.text import listed
from sequencer.cli.trouble import WrongUse
from sequencer.findings import closest

if TYPE_CHECKING:
    from sequencer.sizing.strokes import Strokes
    from sequencer.sizing.sweep import Sweep

ALIASES = {"load": "moves", "angle": "lifts", "lift": "lifts", "pressure": "regulator", "tube-length": "length",
           "returns": "returned_by", "shifts-over": "shift", "c": "conductance", "b": "critical_ratio",
           "needles": "needle"}
"""Other words for a field."""


@click.command(cls=UnquotedCommand)
@measured("--bore bore", "length", "Bore of the cylinder.")
@measured("--rod rod", "length", "Its rod; without it that of the standard cylinder of this bore.")
@measured("--stroke stroke", "length", "Its stroke.")
@click.option("--like", metavar="PART", help="A cylinder of the shelf, for bore and rod.")
@measured("--moves --load moves", "mass", "What the rod moves.")
@measured("--lifts --angle lifts", "angle", "Above level while going out: 90 deg is straight up.")
@driven_options
@measured("--regulator --pressure regulator", "pressure", "What the gauge shows.")
@measured("--tube tube", "length", "Outer size of the tube to each port.")
@measured("--length length", "length", "Its length.")
@measured("--inside inside", "length", "Its inner diameter, where it is known.")
@click.option("--valve", metavar="PART", help="A valve of the shelf.")
@measured("--conductance --c conductance", "conductance", "C of the valve (ISO 6358).")
@measured("--critical-ratio --b critical_ratio", "share", "Its critical pressure ratio b.")
@measured("--exhaust exhaust", "conductance", "C of its exhaust, where it differs.")
@click.option("--muffler", type=click.Choice(["clean", "clogged", "none"]), help="What is screwed into its exhaust.")
@click.option("--quick-exhaust", type=click.Choice(["out", "back", "both"]),
              help="A quick exhaust at the port that lets air out on that way.")
@click.option("--cv", type=float, metavar="NUMBER", help="Cv of the valve, where nothing better is known.")
@measured("--responds responds", "time", "Delay of the valve when it is switched on.")
@measured("--releases releases", "time", "Its delay when it is switched off.")
@measured("--shifts-over shift", "time", "How long its spool is on the way.")
@measured("--needle needle", "share", "Both needles; 100 % is open.")
@measured("--needle-out needle_out", "share", "The needle that slows the way out.")
@measured("--needle-back needle_back", "share", "The needle that slows the way back.")
@click.option("--acting", type=click.Choice(["double", "single"]), help="Air both ways, or out only.")
@click.option("--returns", "returned_by", type=click.Choice(["spring", "weight"]), help="What brings it home.")
@measured("--preload preload", "force", "Pull of that spring when the rod is home.")
@measured("--rate rate", "stiffness", "Its rate.")
@click.option("--cushioned", is_flag=True, default=None, help="The cylinder has cushions.")
@measured("--friction friction", "force", "Friction of seals and guides.")
@measured("--dead-volume dead_volume", "volume", "Air left at each end.")
@reach_option
@click.option("--sweep", metavar="INPUT A..B", help="One input over a range, such as `regulator 40..90 psi`.")
@svg_option
@png_option
@json_option
def command(sweep: str | None, svg: Path | None, png: Path | None, as_json: bool, **said: Any) -> None:
    """What a cylinder does, from its parts: times, forces, air, and what limits it.

    Values have their units as in a show, with or without quotes:

    \b
      sequencer stroke --bore 1-1/2 in --stroke 12 in --load 25 lb --angle 20 deg
        --regulator 60 psi --tube 1/4 in --length 10 ft --valve valve_5_2_quarter

    What the rod drives is said as in a show, and may be said several times:

    \b
      --lever rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg,
        swings from -30 deg to 15 deg, arm 36 in, carries 6 lb

    One input can be swept, also one in a phrase of what the rod drives, said with a range in the place of its value:

    \b
      --sweep regulator 40..90 psi
      --sweep lever rod 6..10 in from the pivot

    Bore, stroke and regulator are needed, the stroke only where nothing turns that takes one; what else is not said is
    taken for granted and listed.
    """
    from sequencer.air.integrate import NotSettling
    from sequencer.sizing.given import given
    from sequencer.sizing.made import Unfit
    from sequencer.sizing.strokes import strokes
    from sequencer.sizing.sweep import swept

    values = {name: value for name, value in said.items() if value is not None and value != ()}
    if "needle" in values:
        needle = values.pop("needle")
        values = {"needle_out": needle, "needle_back": needle} | values
    try:
        if sweep is not None:
            _tell_sweep(swept(values, _sweep(sweep)), (svg, png), as_json)
        else:
            _tell(strokes(given(values)), (svg, png), as_json)
    except Unfit as fault:
        raise wrong(fault) from None
    except NotSettling as fault:
        raise WrongUse(f"This motion cannot be reckoned: {fault}.") from None


def _sweep(text: str) -> Sweep:
    from sequencer.sizing.driven import DRIVEN
    from sequencer.sizing.made import Unfit
    from sequencer.sizing.sweep import FIELDS, read_driven_range, read_range
    from sequencer.sizing.sweep_driven import phrase_with_range

    try:
        if (found := phrase_with_range(text)) is not None:
            return read_driven_range(*found)
    except Unfit as fault:
        raise WrongUse(f"--sweep: {fault}.") from None
    words = text.split()
    # The range begins where the first number does; the name may be of two words.
    at = next((at for at, word in enumerate(words) if word.lstrip("-")[:1].isdigit()), len(words))
    typed = "-".join(words[:at]).replace("_", "-").removeprefix("--")
    field = ALIASES.get(typed, typed.replace("-", "_"))
    if field not in FIELDS:
        known = [*DRIVEN, *(name.replace("_", "-") for name in FIELDS)]
        near = closest(typed, [*known, *ALIASES], 3)
        meant = f"Did you mean {listed(near)}?" if near else f"There are {listed(known)}."
        raise WrongUse(f"`{typed or text}` is nothing that can be swept. {meant}")
    try:
        return read_range(field, " ".join(words[at:]))
    except Unfit as fault:
        raise WrongUse(f"--sweep: {fault}.") from None


def _tell(found: Strokes, files: tuple[Path | None, Path | None], as_json: bool) -> None:
    from sequencer.pages.stroke_picture import stroke_picture

    write_pictures(lambda: stroke_picture(found), *files, quiet=as_json)
    if as_json:
        from sequencer.cli.formats import as_json as json_of
        from sequencer.pages.stroke_json import strokes_value

        click.echo(json_of({"stroke": strokes_value(found)}))
        return
    from sequencer.pages.stroke_text import head_of, limit_rows, line_of, remark_words, stroke_rows
    from sequencer.sizing.judge import remarks

    echo_folded(head_of(found.given), line_of(found.given), *found.given.driven.words, "")
    click.echo("\n".join([*stroke_rows(found), ""]))
    echo_folded(*limit_rows(found))
    say_assumed(found.given.assumed)
    for sentence in found.given.driven.early_ends:
        say("note", sentence)
    said = remarks(found)
    for remark in said:
        say("warning", remark_words(remark, found))
    say_reach(said, found.given.reach)


def _tell_sweep(found: Any, files: tuple[Path | None, Path | None], as_json: bool) -> None:
    from sequencer.pages.sweep_pages import sweep_picture, sweep_rows

    write_pictures(lambda: sweep_picture(found), *files, quiet=as_json)
    if as_json:
        from sequencer.cli.formats import as_json as json_of
        from sequencer.pages.stroke_json import swept_value

        click.echo(json_of({"sweep": swept_value(found)}))
        return
    from sequencer.pages.stroke_text import head_of, line_of

    said = found.strokes[0].given
    echo_folded(head_of(said, found.varies), line_of(said, found.varies), *found.driven_words, "")
    click.echo("\n".join(sweep_rows(found)))
    say_assumed(found.assumed)
