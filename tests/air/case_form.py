"""Cases of the form of `data/stroke_cases.json` -> cylinders and commands, and how far a motion is from their
reference outputs, which come from SciPy's Radau at a relative tolerance of 1e-9 on the equations of `reference`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sequencer.air.cylinder import CylinderAir, Friction, Load, Manifold, Port, Spool
from sequencer.air.flow import Flow
from sequencer.air.lines import End, Line, port_of
from sequencer.air.motion import Trace, move
from sequencer.air.needle import FlowControl
from sequencer.air.spool import Command, Way

GIVEN = Path(__file__).parent / "data" / "stroke_cases.json"
MUFFLER_B = 0.3


@dataclass(frozen=True)
class Case:
    name: str
    cylinder: CylinderAir
    before: tuple[Way, Way]
    commands: tuple[Command, ...]
    until_s: float
    raw: Mapping[str, Any]

    @property
    def sticks(self) -> bool:
        """Marked as sensitive: compared on arrivals only, and not as closely."""
        return bool(self.raw["sensitive_stick_slip"])

    def move(self, **how: Any) -> Trace:
        return move(self.cylinder, self.before, self.commands, self.until_s, **how)


@dataclass(frozen=True)
class Errors:
    """Relative errors. `missing`: what the one has and the other has not, in words."""

    arrival: float
    first: float
    end_speed: float
    air: float
    missing: tuple[str, ...]


def read_cases(path: Path = GIVEN) -> list[Case]:
    return [case_of(raw) for raw in json.loads(path.read_text(encoding="utf-8"))["cases"]]


def case_of(raw: Mapping[str, Any]) -> Case:
    (_, cap, rod, _), *commands = raw["commands"]
    told = tuple(Command(float(t), a, b, bool(energise)) for t, a, b, energise in commands)
    return Case(raw["name"], cylinder_of(raw["params"]), (cap, rod), told, float(raw["t_end"]), raw)


def cylinder_of(p: Mapping[str, Any]) -> CylinderAir:
    manifold = Manifold(p["Vm"], Flow(p["Creg"], p["breg"]), p["band"], p["pTank"]) if p["supply"] == "node" else None
    return CylinderAir(
        bore_m=p["bore"], stroke_m=p["stroke"], cap=_port(p, "A"), rod=_port(p, "B"),
        load=Load(p["mass"], p["angle"], p["Fe0"], p["Fe1"]),
        friction=Friction(p["Fc"], p["Fs"], p["vs"], p["visc"]), supply_pa=p["pS"],
        spool=Spool(p["t_on"], p["t_off"], p["t_ramp"]), manifold=manifold, start_m=p["x0"] * p["stroke"],
        wall_w_m2_k=p["hw"],
    )


def _port(p: Mapping[str, Any], letter: str) -> Port:
    area = p[f"A{letter}"]
    if p[f"{letter}_open"]:
        return Port(area, open=True)
    control = FlowControl(p["fcC"], p["fcFree"], p["fcb"], p["fc_mode"]) if p["hasfc"] else None
    line = Line(Flow(p["Cvs"], p["bvs"]), Flow(p["Cve"], p["bve"]), p[f"d{letter}"], p[f"L{letter}"],
                Flow(p["Cmuf"], MUFFLER_B), control, p[f"fc{letter}"], p[f"node{letter}"])
    length = p["cush" + letter]
    made = port_of(line, End(area, p[f"dead{letter}"], area * p["stroke"], length, p["cushC"] if length else 0.0))
    start = p.get(f"p0{letter}")
    return made if start is None else replace(made, start_pa=start)


def errors_of(case: Case, trace: Trace) -> Errors:
    """Everything the reference says beside what the motion says; nothing is left out of either."""
    said, missing = case.raw["reference"], list[str]()
    arrivals = [_arrival_errors(trace, said["arrivals"], missing), _hit_errors(trace, said["end_hits"], missing)]
    first = said["first_motion_s"]
    if (first is None) != (trace.first_motion_s is None):
        missing.append("first motion")
    gone = abs(trace.first_motion_s / first - 1) if first and trace.first_motion_s is not None else 0.0
    speeds = [abs(hit.v_m_s / v - 1) for hit, (_, _, v) in zip(trace.hits, said["end_hits"], strict=False)]
    air = said["air_std_l"]
    drawn = abs(trace.air_std_l / air - 1) if air > 1e-9 else abs(trace.air_std_l)
    return Errors(max(arrivals), gone, max(speeds, default=0.0), drawn, tuple(missing))


def _arrival_errors(trace: Trace, said: list[Any], missing: list[str]) -> float:
    worst = 0.0
    for name in ["x+0.1", "x+0.25", "x+0.5", "x+0.75", "x+0.9", "x-0.1", "x-0.25", "x-0.5", "x-0.75", "x-0.9"]:
        toward = 1 if name[1] == "+" else -1
        found = [arrival.at_s for arrival in trace.arrivals(float(name[2:])) if arrival.toward == toward]
        wanted = sorted(at for at, what in said if what == name)
        if len(found) != len(wanted):
            missing.append(f"{name} {len(found)} times, not {len(wanted)}")
        worst = max([worst, *(abs(one / two - 1) for one, two in zip(found, wanted, strict=False))])
    return worst


def _hit_errors(trace: Trace, said: list[Any], missing: list[str]) -> float:
    ends = [("endL" if hit.end == "out" else "end0") for hit in trace.hits]
    if ends != [end for _, end, _ in said]:
        missing.append(f"ends met: {ends}, not {[end for _, end, _ in said]}")
    return max((abs(hit.at_s / at - 1) for hit, (at, _, _) in zip(trace.hits, said, strict=False)), default=0.0)
