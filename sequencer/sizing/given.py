"""What a builder says of one cylinder, by name -> the checked parts, and in words what was taken for what was not said.

Ranges and contradictions are those of the rig. Nothing that decides a motion is taken in silence: `assumed` has it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from pydantic import ValidationError

from sequencer.air.convert import conductance_if_only_cv_known
from sequencer.air.from_rig import NoMechanism, mechanism_of_parts
from sequencer.findings import closest
from sequencer.phrases import PinName
from sequencer.rig import KINDS, shelf
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.line import Line
from sequencer.rig.prop import Prop
from sequencer.rig.shelf.read import values_of, values_said
from sequencer.rig.valve import Valve
from sequencer.units import UNITS, Quantity, read_quantity

Reach = Literal["none", "fenced", "possible"]
Value = Quantity | str | float | bool | tuple[str, ...]

CYLINDER = ("bore", "rod", "stroke", "moves", "lifts", "needle_out", "needle_back", "acting", "returned_by", "preload",
            "rate", "cushioned", "friction", "dead_volume", "measured_out", "measured_back")
VALVE = ("conductance", "exhaust", "critical_ratio", "responds", "releases", "shift", "muffler")
TUBE = ("tube", "length", "inside")
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
THINNEST = read_quantity("1 mm")
USUAL_VALVE = {"double": "valve_5_2_quarter", "single": "valve_3_2_quarter"}
"""The valve of the shelf that is taken where none is said, by the acting of the cylinder."""


P = TypeVar("P", bound=Part)


class Unfit(ValueError):
    """A value that cannot be: `field` is its name, the message one sentence without the name."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field

    @property
    def plain(self) -> str:
        """The sentence where the field has been named already."""
        return str(self).replace(f"the {self.field} is", "it is")


@dataclass(frozen=True, slots=True)
class Given:
    """One cylinder with its valve, its tube (None: the valve sits on the cylinder) and its pressure.

    `drives` is what the rod drives, `driven_words` each as it was said, `early_ends` a sentence for each that stands at
    its end before the stroke is over.
    """

    cylinder: Cylinder
    valve: Valve
    valve_name: str
    tube: Line | None
    regulator: Quantity
    reach: Reach | None
    assumed: tuple[str, ...]
    drives: tuple[Part, ...] = ()
    driven_words: tuple[str, ...] = ()
    early_ends: tuple[str, ...] = ()


def given(said: Mapping[str, Value]) -> Given:
    """The parts of what was said. `said` has the fields of the parts by name, `valve`, `like` (shelf), `cv`,
    `quick_exhaust` (`out`, `back` or `both`), and for each kind of `DRIVEN` a tuple of texts.

    Raises Unfit for what is missing, out of its range or against something else.
    """
    assumed: list[str] = []
    reach = said.get("reach")
    assert reach in (None, "none", "fenced", "possible")
    cylinder = _cylinder(said, assumed)
    name, valve = _valve(said, cylinder.acting, assumed)
    tube = _tube(said, assumed)
    if "regulator" not in said:
        raise Unfit("regulator", "the pressure is not said; write `60 psi`, say")
    prop = _made(Prop, {"name": "prop", "source": "line", "regulator": said["regulator"]}, ("regulator",))
    assert prop.regulator is not None
    return Given(cylinder, valve, name, tube, prop.regulator, reach, tuple(assumed), *_driven(said, cylinder))


Driven = tuple[tuple[Part, ...], tuple[str, ...], tuple[str, ...]]


def _driven(said: Mapping[str, Value], cylinder: Cylinder) -> Driven:
    """What the rod drives, each as it was said, and what ends early. Raises Unfit for what is no such part, or cannot
    be built."""
    parts: list[Part] = []
    words: list[str] = []
    early: tuple[str, ...] = ()
    for kind in DRIVEN:
        texts = said.get(kind, ())
        assert isinstance(texts, tuple)
        for number, text in enumerate(texts, 1):
            parts.append(_driven_part(kind, text, f"{kind} {number}" if len(texts) > 1 else kind, cylinder))
            words.append(f"{kind}: {text}")
    if parts:
        try:
            early = tuple(f"{remark.sentence}." for remark in mechanism_of_parts(cylinder, tuple(parts)).remarks)
        except NoMechanism as fault:
            raise Unfit(fault.part.split()[0], str(fault)) from None
    return tuple(parts), tuple(words), early


def _driven_part(kind: str, text: str, name: str, cylinder: Cylinder) -> Part:
    phrases = [" ".join(phrase.split()) for phrase in text.split(",")]
    try:
        values = values_said(kind, [phrase for phrase in phrases if phrase])
        return _made(KINDS[kind], {"name": name, "cylinder": cylinder.name, **values}, tuple(values))
    except Unfit as fault:
        raise Unfit(kind, f"`{_phrase_of(kind, fault.field)}`: {fault.plain}") from None
    except ValueError as fault:
        raise Unfit(kind, f"{fault}; write it as in a show, such as `{SUCH_AS[kind]}`") from None


def _cylinder(said: Mapping[str, Value], assumed: list[str]) -> Cylinder:
    values: dict[str, Any] = {"name": "cylinder", "valve": "valve"}
    if "like" in said:
        values |= _from_shelf(str(said["like"]), "cylinder", "like")
    values |= {name: said[name] for name in CYLINDER if name in said}
    quick = said.get("quick_exhaust")
    values |= {f"quick_{way}": True for way in ("out", "back") if quick in (way, "both")}
    if "bore" not in values:
        raise Unfit("bore", "the bore is not said; write `1-1/2 in`, say")
    if "rod" not in values:
        values["rod"] = _usual_rod(values, assumed)
    if "moves" not in values and not any(kind in said for kind in DRIVEN):
        assumed.append("no load: nothing but piston and rod moves")
    if open_needles := [way for way in ("out", "back") if f"needle_{way}" not in values]:
        assumed.append(f"no flow control for the way {' and '.join(open_needles)}")
    return _made(Cylinder, values, CYLINDER)


def _usual_rod(cylinder: Mapping[str, Any], assumed: list[str]) -> Quantity:
    """The rod of the first standard cylinder of that bore."""
    bore: Quantity = cylinder["bore"]
    for name in shelf.names("cylinder"):
        part = shelf.find(name)
        assert part is not None
        values = values_of(part)
        if abs(values["bore"].si - bore.si) < 1e-5 and values["bore"].unit == bore.unit:
            assumed.append(f"rod {values['rod']}, as {name} has it")
            return values["rod"]
    # A bore that cannot be is told as such, not as one without a rod.
    _made(Cylinder, {**cylinder, "rod": THINNEST}, CYLINDER)
    raise Unfit("rod", f"no standard cylinder has a bore of {bore}, so its rod must be said; write `5/8 in`, say")


def _phrase_of(kind: str, field: str) -> str:
    """How a field of a part is written: `arm <length>`."""
    template = next((phrase for phrase in KINDS[kind].phrases if f"{{{field}:" in phrase), field)
    return re.sub(r"\{\w+:([^}]+)\}", lambda slot: f"<{slot[1].replace('|', ' or ')}>", template)


def _valve(said: Mapping[str, Value], acting: str, assumed: list[str]) -> tuple[str, Valve]:
    name = str(said.get("valve", USUAL_VALVE[acting]))
    if "valve" not in said:
        assumed.append(f"{name} of the shelf")
    values = _from_shelf(name, "valve", "valve") | {"name": "valve", "pin": PinName("board", "out0")}
    if values.get("solenoids", 1) == 2:
        values["back_pin"] = PinName("board", "out1")
    if "cv" in said:
        if "conductance" in said:
            raise Unfit("cv", "the flow of the valve is said twice, as C and as Cv; leave one of them away")
        values["conductance"] = _of_cv(said["cv"], assumed)
    values |= {field: said[field] for field in VALVE if field in said}
    return name, _made(Valve, values, VALVE)


def _of_cv(cv: Value, assumed: list[str]) -> Quantity:
    assert isinstance(cv, float)
    if not 0.005 <= cv <= 20:
        raise Unfit("cv", f"a Cv of {cv:g} is outside 0.005 to 20")
    known = conductance_if_only_cv_known(cv)
    low, likely, high = (found * 1e8 for found in (known.low, known.likely, known.high))
    assumed.append(f"Cv {cv:g} taken as C {likely:.3g} dm3/s/bar (makers' pairs give {low:.3g} to {high:.3g})")
    return Quantity(known.likely, UNITS["dm3/s/bar"], f"{likely:.4g} dm3/s/bar")


def _tube(said: Mapping[str, Value], assumed: list[str]) -> Line | None:
    values = {name: said[name] for name in TUBE if name in said}
    if not values:
        assumed.append("no tube: the valve sits on the cylinder")
        return None
    if "tube" not in values and "inside" in values:
        raise Unfit("tube", "a tube needs its outer size too; write `1/4 in`, say")
    return _made(Line, {"name": "tube", "source": "line", **values}, TUBE)


def _from_shelf(name: str, kind: str, field: str) -> dict[str, Any]:
    part = shelf.find(name)
    if part is None or part.kind != kind:
        names = shelf.names(kind)
        near = closest(name, names, 3) or tuple(one for one in names if name in one)[:3]
        meant = f"did you mean {' or '.join(near)}?" if near else f"`sequencer shelf {kind}` lists them"
        raise Unfit(field, f"there is no {kind} `{name}` on the shelf; {meant}")
    return {**values_of(part)}


def _made(kind: type[P], values: Mapping[str, Any], own: tuple[str, ...]) -> P:
    """The part, or what speaks against it as one sentence."""
    try:
        return kind(**values)
    except ValidationError as errors:
        error = errors.errors(include_url=False, include_input=False)[0]
    context: Any = error.get("ctx", {})
    field = str(error["loc"][0]) if error["loc"] else str(context.get("field", own[0]))
    match error["type"]:
        case "missing":
            raise Unfit(field, f"the {field} is not said") from None
        case "range":
            raise Unfit(field, f"{context['text']} is outside {context['low']} to {context['high']}") from None
        case "contradiction":
            raise Unfit(field, str(context["sentence"])) from None
        case _:
            raise Unfit(field, str(error["msg"])) from None
