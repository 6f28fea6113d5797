"""Several cylinders, a manifold and a tank as one system of equations, handed to SciPy: what the shared supply is held
against. The cylinders are those of `reference`; it shares no line with the package.

Props that name the same `valve` share its flow: `split` says how. "share": the valve is cut into parts by what flows
through each, in series with what is behind by the rule of `reference.series`. "junction": the pressure behind the
valve is found at which what comes in goes out, and no rule of series is used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tests.air.reference import (
    PA,
    PATM,
    PB,
    PM,
    SUPPLIED,
    T0,
    Plain,
    R,
    V,
    X,
    _decide,
    flow,
    series,
)

WIDTH = 11


@dataclass
class Supply:
    """A tank of V m3 at p Pa, a manifold behind (C, b) with a regulator; all isothermal. `fill_kg_s`: what comes in."""

    tank_m3: float
    tank_pa: float
    manifold_m3: float
    c: float
    b: float
    set_pa: float
    band_pa: float
    fill_kg_s: float = 0.0


@dataclass
class JointRun:
    """Hits as (cylinder, time, end, speed), first motions, drawn kg, and (t, manifold, tank) samples."""

    hits: list[tuple[int, float, str, float]] = field(default_factory=list)
    starts: list[tuple[int, float]] = field(default_factory=list)
    drawn: list[float] = field(default_factory=list)
    samples: Any = None


class Joint:
    def __init__(self, cases: Sequence[tuple[Mapping[str, Any], Sequence[Sequence[Any]]]], supply: Supply,
                 valves: Sequence[str | None] | None = None, split: str = "share") -> None:
        self.props = [Plain(p, commands) for p, commands in cases]
        self.supply, self.split = supply, split
        names = list(valves or [None] * len(cases))
        self.groups = [[i for i, name in enumerate(names) if name == one] for one in sorted({n for n in names if n})]
        self.grouped = {i for group in self.groups for i in group}
        self.valve_path = [prop.valve_path for prop in self.props]

    def start(self) -> Any:
        y = np.concatenate([prop.start() for prop in self.props] + [np.zeros(2)])
        manifold = min(self.supply.set_pa, self.supply.tank_pa)
        y[-2:] = manifold, self.supply.tank_pa
        for i, prop in enumerate(self.props):
            for port, at in (("A", PA), ("B", PB)):
                if not prop.p[f"{port}_open"] and prop.moves[0][1]["AB".index(port)] == "S":
                    mine = y[i * WIDTH:]
                    mine[at + 1] *= manifold / mine[at]
                    mine[at] = mine[at + 2] = manifold
        return y

    def rates(self, t: float, y: Any) -> Any:
        dy = np.zeros(len(y))
        manifold, tank = y[-2:]
        drawn = 0.0
        for i, prop in enumerate(self.props):
            mine = y[i * WIDTH:(i + 1) * WIDTH].copy()
            mine[PM] = manifold
            here = dy[i * WIDTH:(i + 1) * WIDTH]
            if i not in self.grouped:
                for port in "AB":
                    if not prop.p[f"{port}_open"]:
                        prop.port_rates(port, t, mine, here)
        for group in self.groups:
            self.shared_rates(group, t, y, dy)
        for i, prop in enumerate(self.props):
            mine, here = y[i * WIDTH:(i + 1) * WIDTH], dy[i * WIDTH:(i + 1) * WIDTH]
            drawn += here[SUPPLIED]
            if prop.mode:
                here[X] = mine[V]
                here[V] = (prop.net_force(mine) - prop.mode * prop.friction(mine[V])) / prop.p["mass"]
        s = self.supply
        opening = min(max((s.set_pa - manifold) / s.band_pa, 0.0), 1.0)
        fed = flow(s.c * opening, s.b, tank, manifold, T0) if tank > manifold else 0.0
        dy[-2] = R * T0 / s.manifold_m3 * (fed - drawn)
        dy[-1] = R * T0 / s.tank_m3 * (s.fill_kg_s - fed)
        return dy

    def shared_rates(self, group: Sequence[int], t: float, y: Any, dy: Any) -> None:
        """The ports of cylinders on one valve; each must have a tube of its own volume."""
        for port in "AB":
            at = PA if port == "A" else PB
            states = [(*prop.opening("AB".index(port), t), prop) for prop in (self.props[i] for i in group)]
            way, u, first = states[0]
            source = y[-2] if way == "S" else PATM
            c, b = first.path[port]["sup" if way == "S" else "exh"]
            nodes = [y[i * WIDTH + at + 2] for i in group]
            halves = [self.props[i].path[port]["pre"] for i in group]
            through = [0.0] * len(group) if way == "X" or u <= 0 else (
                _by_junction if self.split == "junction" else _by_share)((u * c, b), halves, source, nodes)
            for i, flow_in in zip(group, through, strict=True):
                prop, mine = self.props[i], y[i * WIDTH:(i + 1) * WIDTH].copy()
                here = dy[i * WIDTH:(i + 1) * WIDTH]
                prop.valve_path = lambda *_: ("X", 0.0, 0.3)  # type: ignore[method-assign]
                prop.port_rates(port, t, mine, here)
                here[at + 2] += R * T0 / prop.p[f"Vt{port}"] * flow_in
                if way == "S":
                    here[SUPPLIED] += flow_in


def _signed(path: tuple[float, float], source: float, q: float) -> float:
    return flow(*path, source, q, T0) if source > q else -flow(*path, q, source, T0)


def _by_junction(valve: tuple[float, float], halves: Sequence[tuple[float, float]], source: float,
                 nodes: Sequence[float]) -> list[float]:
    low, high = min([source, *nodes]), max([source, *nodes])
    if high - low < 1e-6:
        return [0.0] * len(nodes)

    def balance(pressure: float) -> float:
        out = sum(_signed(half, pressure, q) for half, q in zip(halves, nodes, strict=True))
        return _signed(valve, source, pressure) - out

    pressure = brentq(balance, low, high, xtol=1e-7)
    return [_signed(half, pressure, q) for half, q in zip(halves, nodes, strict=True)]


def _by_share(valve: tuple[float, float], halves: Sequence[tuple[float, float]], source: float,
              nodes: Sequence[float]) -> list[float]:
    parts = [1 / len(nodes)] * len(nodes)
    for _ in range(60):
        flows = [_signed(series((valve[0] * part, valve[1]), half), source, q)
                 for part, half, q in zip(parts, halves, nodes, strict=True)]
        whole = sum(abs(one) for one in flows)
        if whole < 1e-12:
            break
        wanted = [max(abs(one) / whole, 0.02) for one in flows]
        wanted = [one / sum(wanted) for one in wanted]
        if max(abs(a - b) for a, b in zip(parts, wanted, strict=True)) < 1e-7:
            break
        parts = [(a + b) / 2 for a, b in zip(parts, wanted, strict=True)]
    return flows


def run_joint(joint: Joint, until: float, method: str = "LSODA", rtol: float = 1e-5) -> JointRun:
    """Integrate from 0 to `until`, stopping at every corner of a valve and every event of a rod."""
    out = JointRun()
    corners = {until}
    for prop in joint.props:
        ramp = prop.p["t_ramp"]
        corners |= {c for start, _ in prop.moves[1:] for c in (start, start + ramp / 2, start + ramp) if 0 < c < until}
    scale = np.array([s for prop in joint.props
                      for s in (prop.p["stroke"], 0.1, 1e5, 1e-5, 1e5, 1e5, 1e-5, 1e5, 1e5, 1e-5, 1e-5)] + [1e5, 1e5])
    y, t, samples = joint.start(), 0.0, []
    for i, prop in enumerate(joint.props):
        prop.mode = _decide(prop, y[i * WIDTH:(i + 1) * WIDTH])
        if prop.mode:
            out.starts.append((i, 0.0))
    for corner in sorted(corners):
        while t < corner:
            events = _events(joint, y)
            found = solve_ivp(joint.rates, (t, corner), y, method=method, rtol=rtol, atol=rtol * scale,
                              events=[function for _, _, function in events], max_step=0.02)
            if found.status < 0:
                raise RuntimeError(f"{method} gave up at {found.t[-1]} s: {found.message}")
            samples.append(np.vstack([found.t, found.y[-2:]]))
            stood, t, y = y, float(found.t[-1]), found.y[:, -1].copy()
            for i, prop in enumerate(joint.props):
                if prop.mode == 0:  # where it stood, free of rounding
                    y[i * WIDTH + X], y[i * WIDTH + V] = stood[i * WIDTH + X], 0.0
            if found.status == 1:
                _carry_out(joint, events, found.t_events, t, y, out)
                _begin_as_well(joint, t, y, out)
    out.samples = np.hstack(samples)
    out.drawn = [float(y[i * WIDTH + SUPPLIED]) for i in range(len(joint.props))]
    return out


def _begin_as_well(joint: Joint, t: float, y: Any, out: JointRun) -> None:
    """Rods that come free at the very moment of another's event: the solver tells the first of equal roots alone, and
    a force that is past its bound at the next start crosses it no more."""
    for i, prop in enumerate(joint.props):
        if prop.mode == 0:
            prop.mode = _decide(prop, y[i * WIDTH:(i + 1) * WIDTH])
            if prop.mode:
                out.starts.append((i, t))


def _events(joint: Joint, y: Any) -> list[tuple[int, str, Any]]:
    found = []
    for i, prop in enumerate(joint.props):
        at, p, mode, x = i * WIDTH, prop.p, prop.mode, y[i * WIDTH + X]
        if mode == 0:
            pair = [("out", lambda t, y, p=p, prop=prop, at=at, x=x:
                     prop.net_force(y[at:at + WIDTH]) - p["Fs"] if x < p["stroke"] else -1.0, 1),
                    ("home", lambda t, y, p=p, prop=prop, at=at, x=x:
                     prop.net_force(y[at:at + WIDTH]) + p["Fs"] if x > 0 else 1.0, -1)]
        else:
            end = p["stroke"] if mode > 0 else 0.0
            pair = [("stop", lambda t, y, at=at, mode=mode: y[at + V] * mode + 1e-9, -1),
                    ("hit", lambda t, y, at=at, mode=mode, end=end: (y[at + X] - end) * mode, 1)]
        for kind, function, direction in pair:
            function.terminal, function.direction = True, direction  # type: ignore[attr-defined]
            found.append((i, kind, function))
    return found


def _carry_out(joint: Joint, events: Sequence[tuple[int, str, Any]], times: Sequence[Any], t: float, y: Any,
               out: JointRun) -> None:
    for (i, kind, _), when in zip(events, times, strict=True):
        if not len(when):
            continue
        prop, mine = joint.props[i], y[i * WIDTH:(i + 1) * WIDTH]
        if kind in ("out", "home"):
            prop.mode = 1 if kind == "out" else -1
            out.starts.append((i, t))
            continue
        if kind == "hit":
            out.hits.append((i, t, "endL" if prop.mode > 0 else "end0", float(mine[V])))
            mine[X] = prop.p["stroke"] if prop.mode > 0 else 0.0
        mine[V] = 0.0
        prop.mode = _decide(prop, mine)
