"""A cylinder on a valve: bore, rod, stroke, what it moves, its flow controls, what the builder timed on it.

Times measured on the real prop are what the air model is fitted to. Where a prop's tube to this cylinder
differs from the tube of the prop, `tube 1/4 in long 3 ft` says so here. The motion itself is the air
room's.
"""

from typing import Any, ClassVar, Literal

from sequencer.rig.asked import share_of, time_of
from sequencer.rig.base import Part, Verb, between, contradiction
from sequencer.rig.drive import Drive, Motion
from sequencer.rig.tubes import TubeInside, TubeLength, TubeSize, check_tube
from sequencer.rig.valve import Valve, power_off_way
from sequencer.units import read_quantity


def _goes(toward: Literal["out", "home"], lands: bool = False) -> Any:
    def drives(cylinder: "Cylinder", values: Any) -> tuple[Drive, ...]:
        for_us = time_of(values, "time") if "time" in values else None
        return (Motion(cylinder.name, toward, lands, for_us=for_us),)

    return drives


def _lands(cylinder: "Cylinder", values: Any) -> tuple[Drive, ...]:
    return (Motion(cylinder.name, values["end"], lands=True),)


def _lands_at(cylinder: "Cylinder", values: Any) -> tuple[Drive, ...]:
    return (Motion(cylinder.name, "between", lands=True, fraction=share_of(values, "fraction")),)


class Cylinder(Part):
    kind: ClassVar[str] = "cylinder"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {valve:@valve}",
        "bore {bore:length}",
        "rod {rod:length}",
        "stroke {stroke:length}",
        "moves {moves:mass}",
        "lifts {lifts:angle}",
        "needle out {needle_out:share}",
        "needle back {needle_back:share}",
        "quick exhaust out",
        "quick exhaust back",
        "quick exhaust both ways",
        "quick exhaust conductance {quick_flow:conductance}",
        "{acting:single|double} acting",
        "{returned_by:spring|weight} returns",
        "spring preload {preload:force}",
        "spring rate {rate:stiffness}",
        "cushioned",
        "starts {starts:home|out}",
        "tube {tube:length} long {length:length}",
        "inside {inside:length}",
        "friction {friction:force}",
        "dead volume {dead_volume:volume}",
        "measured out {measured_out:time}",
        "measured out {measured_out:time} at {measured_at:pressure}",
        "measured back {measured_back:time}",
        "measured back {measured_back:time} at {measured_at:pressure}",
        "back {measured_back:time}",
        "back {measured_back:time} at {measured_at:pressure}",
    )
    sets: ClassVar[dict[str, dict[str, Any]]] = {
        "cushioned": {"cushioned": True}, "quick exhaust out": {"quick_out": True},
        "quick exhaust back": {"quick_back": True}, "quick exhaust both ways": {"quick_out": True, "quick_back": True},
    }
    verbs: ClassVar[tuple[Verb, ...]] = (
        Verb("extends", _goes("out")),
        Verb("retracts", _goes("home")),
        Verb("extends for {time:time}", _goes("out")),
        Verb("retracts for {time:time}", _goes("home")),
        Verb("lands {end:out|home}", _lands),
        Verb("lands at {fraction:share}", _lands_at),
    )

    valve: str
    # Bores: ISO 6432 begins at 8 mm, ISO 15552 ends at 320 mm (from memory); smaller ones are sold.
    bore: between("3 mm", "320 mm")
    rod: between("1 mm", "100 mm")
    # ISO 15552 strokes end at 2,800 mm (from memory); beyond it is a rodless unit, which this is not.
    stroke: between("1 mm", "3 m")
    # What the rod carries, prop and fittings; common practice, no source.
    moves: between("0.001 kg", "500 kg") | None = None
    # Above level while extending: +90 deg goes straight up, -90 deg straight down.
    lifts: between("-90 deg", "90 deg") = read_quantity("0 deg")
    # None: no flow control there. A quarter-open needle set 5 % off moves the arrival by about a third (computed with
    # the air model's prototype), so measure yours. Screwed in altogether it lets nothing through that it means to.
    needle_out: between("1 %", "100 %") | None = None
    needle_back: between("1 %", "100 %") | None = None
    # At the port that lets air out on that way, so that the air need not go back through tube and valve.
    quick_out: bool = False
    quick_back: bool = False
    # As printed, with its muffler; None: a 1/4 in one of 4 dm3/s/bar behind a muffler of as much (assumed).
    quick_flow: between("0.02 dm3/s/bar", "60 dm3/s/bar") | None = None
    acting: Literal["single", "double"] = "double"
    returned_by: Literal["spring", "weight"] | None = None
    preload: between("0 N", "2000 N") | None = None
    rate: between("0 N/mm", "200 N/mm") | None = None
    cushioned: bool = False
    starts: Literal["home", "out"] | None = None
    tube: TubeSize | None = None
    length: TubeLength | None = None
    inside: TubeInside | None = None
    friction: between("0 N", "2000 N") | None = None
    dead_volume: between("0 L", "5 L") | None = None
    measured_out: between("10 ms", "60 s") | None = None
    measured_back: between("10 ms", "60 s") | None = None
    # None: at the pressure that the prop's regulator is set to.
    measured_at: between("3 psi", "250 psi") | None = None

    def check(self) -> None:
        if self.rod.si >= self.bore.si:
            raise contradiction("rod", f"a rod of {self.rod} does not fit into a bore of {self.bore}")
        _check_return(self)
        _check_quick_exhaust(self)
        check_tube(self.tube, self.length, self.inside)


def _check_return(cylinder: Cylinder) -> None:
    if cylinder.acting == "single" and cylinder.returned_by is None:
        raise contradiction("acting", "a single-acting cylinder needs something that brings it home: "
                                      "write `spring returns` or `weight returns`")
    if cylinder.acting == "double" and cylinder.returned_by is not None:
        raise contradiction("returned_by", f"a double-acting cylinder is brought home by air, not by a "
                                           f"{cylinder.returned_by}; write `single acting` if it has one "
                                           "port")
    for field in ("preload", "rate"):
        if getattr(cylinder, field) is not None and cylinder.returned_by != "spring":
            raise contradiction(field, f"`spring {field}` needs a spring inside: write `spring returns`, or "
                                       "give an outside spring as a part of its own")


def _check_quick_exhaust(cylinder: Cylinder) -> None:
    if cylinder.acting == "single" and cylinder.quick_out:
        raise contradiction("quick_out", "a single-acting cylinder lets no air out on its way out; write `quick "
                                         "exhaust back`")
    if cylinder.quick_flow is not None and not (cylinder.quick_out or cylinder.quick_back):
        raise contradiction("quick_flow", "which way has the quick exhaust is not said; write `quick exhaust out`, "
                                          "`quick exhaust back` or `quick exhaust both ways`")


def starts_at(cylinder: Cylinder, valve: Valve) -> Literal["home", "out"]:
    """Where the cylinder stands before the first command: as said, else where power off leaves it.

    A valve that stays or vents both ends says nothing of it; then it is home.
    """
    if cylinder.starts is not None:
        return cylinder.starts
    return "out" if power_off_way(valve) == "out" else "home"
