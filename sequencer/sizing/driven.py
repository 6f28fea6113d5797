"""What the rod drives, said in the phrases of the rig -> its parts, the way they take, what of them ends early."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from sequencer.air.from_rig import NoMechanism, mechanism_of_parts
from sequencer.air.mechanism.build import way_of_swings_m
from sequencer.frozen import frozen
from sequencer.rig import KINDS
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.shelf.read import values_said
from sequencer.sizing.made import Unfit, Value, made
from sequencer.units import UNITS, Quantity, Unit, rounded

DRIVEN = ("lever", "slide", "scissor", "fourbar", "rope", "spring")
"""Kinds of parts that the rod may drive; each is said in the phrases of the rig, parted by commas."""
SUCH_AS = {
    "lever": "rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 15 deg, "
             "arm 36 in, carries 6 lb",
    "slide": "carries 9 lb, rises 20 deg",
    "scissor": "stages 2, links 20 in, opens from 20 deg to 50 deg, carries 5 lb",
    "fourbar": "rod 6 in from the pivot, cylinder 18 in from the pivot at -45 deg, swings from 10 deg to 60 deg, "
               "ground 20 in, crank 8 in, coupler 18 in, rocker 10 in, carries 5 lb",
    "rope": "carries 5 lb, length 6 ft", "spring": "rate 6 lbf/in, preload 18 lbf, pushes out",
}
SHORTEST_M = 1e-3
MEASURED_BY = {"lever": "rod_at", "fourbar": "rod_at", "scissor": "link"}
"""The field in whose unit a part that turns is measured."""


@frozen
class Driven:
    """`parts` on one rod, each as it was said in `words`; `early_ends` is a sentence for each that stands at its end
    before the stroke is over."""

    parts: tuple[Part, ...] = ()
    words: tuple[str, ...] = ()
    early_ends: tuple[str, ...] = ()


def driven(said: Mapping[str, Value], cylinder: Cylinder) -> Driven:
    """What the rod drives, on that cylinder. Raises Unfit for what is no such part, or cannot be built."""
    parts = parts_said(said, cylinder.name)
    if not parts:
        return Driven()
    try:
        mechanism = mechanism_of_parts(cylinder, parts)
    except NoMechanism as fault:
        raise Unfit(fault.part.split()[0], str(fault)) from None
    return Driven(parts, words_of(said), tuple(f"{remark.sentence}." for remark in mechanism.remarks))


def stroke_taken(said: Mapping[str, Value], like: Unit) -> Quantity | None:
    """The stroke that what turns on the rod takes from its start to its end, in inches or millimetres after `like`;
    None where nothing turns. Raises Unfit for what is no such part.

    A swing that no rod can make takes the shortest stroke there is: `driven` says what is wrong with it.
    """
    taken = way_of_swings_m(parts_said(said, "cylinder"))
    if taken is None:
        return None
    return rounded(max(taken, SHORTEST_M), UNITS["in" if like.symbol in ("in", "ft") else "mm"], up=True)


def as_taken(stroke: Quantity | str) -> str:
    """Such a stroke, or a range of them, in words, for who did not say one."""
    return f"stroke {stroke}, as what it drives takes it"


def unit_of(said: Mapping[str, Value]) -> Unit | None:
    """The unit in which the first part that turns is measured; None where nothing turns."""
    measured = (getattr(part, MEASURED_BY[part.kind]).unit for part in parts_said(said, "cylinder")
                if part.kind in MEASURED_BY)
    return next(measured, None)


def words_of(said: Mapping[str, Value]) -> tuple[str, ...]:
    """Each part that the rod drives as it was said, after its kind."""
    return tuple(f"{kind}: {text}" for kind, text, _ in _texts(said))


def parts_said(said: Mapping[str, Value], cylinder: str) -> tuple[Part, ...]:
    """The parts by themselves, on a cylinder of that name. Raises Unfit for what is no such part."""
    return tuple(_part(kind, text, name, cylinder) for kind, text, name in _texts(said))


def _texts(said: Mapping[str, Value]) -> Iterator[tuple[str, str, str]]:
    """Kind, phrases and name of each."""
    for kind in DRIVEN:
        texts = said.get(kind, ())
        assert isinstance(texts, tuple)
        for number, text in enumerate(texts, 1):
            yield kind, text, f"{kind} {number}" if len(texts) > 1 else kind


def _part(kind: str, text: str, name: str, cylinder: str) -> Part:
    phrases = [" ".join(phrase.split()) for phrase in text.split(",")]
    try:
        values = values_said(kind, [phrase for phrase in phrases if phrase])
        return made(KINDS[kind], {"name": name, "cylinder": cylinder, **values}, tuple(values))
    except Unfit as fault:
        raise Unfit(kind, f"`{_phrase_of(kind, fault.field)}`: {fault.plain}") from None
    except ValueError as fault:
        raise Unfit(kind, f"{fault}; write it as in a show, such as `{SUCH_AS[kind]}`") from None


def _phrase_of(kind: str, field: str) -> str:
    """How a field of a part is written: `arm <length>`."""
    template = next((phrase for phrase in KINDS[kind].phrases if f"{{{field}:" in phrase), field)
    return re.sub(r"\{\w+:([^}]+)\}", lambda slot: f"<{slot[1].replace('|', ' or ')}>", template)
