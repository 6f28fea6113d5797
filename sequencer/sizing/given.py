"""What a builder says of one cylinder, by name -> the checked parts, and in words what was taken for what was not said.

Ranges and contradictions are those of the rig. Nothing that decides a motion is taken in silence: `assumed` has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from sequencer.air.convert import conductance_if_only_cv_known
from sequencer.findings import closest
from sequencer.phrases import PinName
from sequencer.rig import shelf
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.line import Line
from sequencer.rig.prop import Prop
from sequencer.rig.shelf.read import values_of
from sequencer.rig.valve import Valve
from sequencer.sizing.driven import DRIVEN, Driven, as_taken, driven, stroke_taken
from sequencer.sizing.made import Unfit, Value, made
from sequencer.units import UNITS, Quantity, read_quantity

Reach = Literal["none", "fenced", "possible"]

CYLINDER = ("bore", "rod", "stroke", "moves", "lifts", "needle_out", "needle_back", "acting", "returned_by", "preload",
            "rate", "cushioned", "friction", "dead_volume", "measured_out", "measured_back")
VALVE = ("conductance", "exhaust", "critical_ratio", "responds", "releases", "shift", "muffler")
TUBE = ("tube", "length", "inside")
THINNEST = read_quantity("1 mm")
USUAL_VALVE = {"double": "valve_5_2_quarter", "single": "valve_3_2_quarter"}
"""The valve of the shelf that is taken where none is said, by the acting of the cylinder."""


@dataclass(frozen=True, slots=True)
class Given:
    """One cylinder with its valve, its tube (None: the valve sits on the cylinder) and its pressure.

    `driven` is what the rod drives.
    """

    cylinder: Cylinder
    valve: Valve
    valve_name: str
    tube: Line | None
    regulator: Quantity
    reach: Reach | None
    assumed: tuple[str, ...]
    driven: Driven = field(default_factory=Driven)


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
    prop = made(Prop, {"name": "prop", "source": "line", "regulator": said["regulator"]}, ("regulator",))
    assert prop.regulator is not None
    return Given(cylinder, valve, name, tube, prop.regulator, reach, tuple(assumed), driven(said, cylinder))


def _cylinder(said: Mapping[str, Value], assumed: list[str]) -> Cylinder:
    values: dict[str, Any] = {"name": "cylinder", "valve": "valve"}
    if "like" in said:
        values |= _from_shelf(str(said["like"]), "cylinder", "like")
    values |= {name: said[name] for name in CYLINDER if name in said}
    quick = said.get("quick_exhaust")
    values |= {f"quick_{way}": True for way in ("out", "back") if quick in (way, "both")}
    if "bore" not in values:
        raise Unfit("bore", "the bore is not said; write `1-1/2 in`, say")
    if "stroke" not in values and (taken := stroke_taken(said, values["bore"].unit)) is not None:
        values["stroke"] = taken
        assumed.append(as_taken(taken))
    if "rod" not in values:
        values["rod"] = _usual_rod(values, assumed)
    if "moves" not in values and not any(kind in said for kind in DRIVEN):
        assumed.append("no load: nothing but piston and rod moves")
    if open_needles := [way for way in ("out", "back") if f"needle_{way}" not in values]:
        assumed.append(f"no flow control for the way {' and '.join(open_needles)}")
    return made(Cylinder, values, CYLINDER)


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
    made(Cylinder, {**cylinder, "rod": THINNEST}, CYLINDER)
    raise Unfit("rod", f"no standard cylinder has a bore of {bore}, so its rod must be said; write `5/8 in`, say")


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
    return name, made(Valve, values, VALVE)


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
    return made(Line, {"name": "tube", "source": "line", **values}, TUBE)


def _from_shelf(name: str, kind: str, field: str) -> dict[str, Any]:
    part = shelf.find(name)
    if part is None or part.kind != kind:
        names = shelf.names(kind)
        near = closest(name, names, 3) or tuple(one for one in names if name in one)[:3]
        meant = f"did you mean {' or '.join(near)}?" if near else f"`sequencer shelf {kind}` lists them"
        raise Unfit(field, f"there is no {kind} `{name}` on the shelf; {meant}")
    return {**values_of(part)}
