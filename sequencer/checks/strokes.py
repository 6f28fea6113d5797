"""The cylinders of a yard with their whole strokes, each from rest at the other end; forces in the author's units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from sequencer.air.from_rig import Described, Toward, cylinder_air, unknowns_of
from sequencer.air.margin import Margin, margin_of
from sequencer.air.stroke import Stroke, predict_stroke
from sequencer.checks.wires import Yard
from sequencer.frozen import frozen
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.prop import Prop
from sequencer.rig.valve import Valve
from sequencer.schedule.supply import request_for, valve_of
from sequencer.show import Placed
from sequencer.units import UNITS, Quantity, Unit, say, speed_beside

ROUNDS = 3
STARTS: dict[Toward, float] = {"out": 0.0, "home": 1.0}


@frozen
class Moved:
    """One cylinder on its valve, in its prop. `strokes` lacks a way of which the air is not known."""

    placed: Placed
    part: Cylinder
    valve: Valve
    prop: Placed | None
    strokes: Mapping[Toward, Stroke]

    @property
    def regulator(self) -> Quantity | None:
        """What its prop's own regulator is set to."""
        return None if self.prop is None else getattr(self.prop.part, "regulator", None)

    @property
    def reach(self) -> str | None:
        return self.prop.part.reach if self.prop is not None and isinstance(self.prop.part, Prop) else None

    def margin(self, toward: Toward) -> Margin:
        """At its weakest place."""
        return margin_as(self.strokes[toward].described, toward)

    def pressure_for(self, toward: Toward, share: float) -> float:
        """The least gauge pressure (Pa) that leaves so much of the push. Only for a way that air pushes."""
        described, margin = self.strokes[toward].described, self.margin(toward)
        for _ in range(ROUNDS):  # the weakest place hangs on the pressure
            wanted = margin.pressure_for(share)
            assert wanted is not None, "no air pushes that way"
            margin = margin_as(replace(described, pressure_pa_gauge=wanted), toward)
        return wanted


def moved(yard: Yard, among: frozenset[str] | None = None) -> Iterator[Moved]:
    """Every cylinder (of those with these names) whose strokes can be reckoned at least one way, in the order of the
    text."""
    for placed in yard.of_kind("cylinder"):
        if among is not None and placed.part.name not in among:
            continue
        part, valve = placed.part, valve_of(yard.parts, placed.part.name)
        assert isinstance(part, Cylinder)
        strokes = {} if valve is None else _strokes(yard, part.name)
        if valve is not None and strokes:
            yield Moved(placed, part, valve, yard.parts.get(part.prop or ""), strokes)


def margin_as(described: Described, toward: Toward) -> Margin:
    """As described, whatever was timed: the force that is there does not hang on needles."""
    return margin_of(cylinder_air(described, unknowns_of(described.cylinder), toward), toward)


def _strokes(yard: Yard, name: str) -> dict[Toward, Stroke]:
    found: dict[Toward, Stroke] = {}
    for toward, start in STARTS.items():
        request = request_for(yard.parts, name, start, toward)
        try:
            if request is not None:
                found[toward] = predict_stroke(request)
        except ValueError:
            continue  # what is wrong with its parts is said by the checks of the parts
    return found


def say_force(newtons: float, like: Quantity | None) -> str:
    """A force in pounds for those who set their regulator in psi, else in newtons.

    >>> say_force(444.82216, None)
    '445 N'
    """
    pounds = like is not None and like.unit.symbol == "psi"
    unit = UNITS["lbf" if pounds else "N"]
    factor = float(unit.factor)
    return say(float(f"{newtons / factor:.3g}") * factor, unit)


def say_pressure(pascals: float, like: Quantity | None, up: bool = True) -> str:
    """A gauge pressure in the unit of the regulator, rounded up, or down, to whole psi or tenths of a bar.

    >>> say_pressure(413_000.0, None), say_pressure(413_000.0, None, up=False)
    ('60 psi', '59 psi')
    """
    unit = UNITS["psi"] if like is None else like.unit
    factor, step = float(unit.factor), {"psi": 1.0, "bar": 0.1, "kPa": 10.0, "MPa": 0.01}[unit.symbol]
    steps = -(-pascals / factor // step) if up else pascals / factor // step
    return say(steps * step * factor, unit)


def say_energy(joules: float) -> str:
    """An energy in two figures, in J as its limits are printed.

    >>> say_energy(0.6321), say_energy(183.4)
    ('0.63 J', '180 J')
    """
    return f"{float(f'{joules:.2g}'):g} J"


def say_rounded(si: float, unit: Unit) -> str:
    """A reckoned value in two figures.

    >>> say_rounded(0.0612, UNITS["in"])
    '2.4 in'
    """
    factor = float(unit.factor)
    return say(float(f"{si / factor:.2g}") * factor, unit)


def say_speed(metres_a_second: float, bore: Quantity) -> str:
    """A speed in feet a second for those who buy their bores in inches, else in metres.

    >>> say_speed(0.3048, Quantity(0.05, UNITS["mm"], "50 mm"))
    '0.3 m/s'
    """
    return say_rounded(metres_a_second, speed_beside(bore.unit))


def way_word(toward: Toward) -> str:
    return "out" if toward == "out" else "back"
