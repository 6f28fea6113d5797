"""The equations of a cylinder on a valve written out plainly and handed to SciPy: what the tool's own solver is held
against. It shares no line with the package. Parameters are those of `data/stroke_cases.json`, as a mapping.

Equations: flow by ISO 6358 (C, b) with a linear zone near equal pressures; a chamber with heat to its wall; Newton's
law with Stribeck and viscous friction; a valve that closes the old path and then opens the new one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

R, GAMMA, T0, P0, PATM, G, BETA = 287.05, 1.4, 293.15, 1.0e5, 101_325.0, 9.80665, 0.99
CP = GAMMA * R / (GAMMA - 1)
RHO0 = P0 / (R * T0)
X, V, PA, MA, QA, PB, MB, QB, PM, SUPPLIED, EXHAUSTED = range(11)
PLACES = (0.1, 0.25, 0.5, 0.75, 0.9)
Params = Mapping[str, Any]


def flow(c: float, b: float, up: float, down: float, t_up: float) -> float:
    """Mass flow in kg/s from `up` to `down`."""
    ratio = down / up
    if ratio <= b:
        share = 1.0
    elif ratio < BETA:
        share = math.sqrt(1 - ((ratio - b) / (1 - b)) ** 2)
    else:
        share = math.sqrt(1 - ((BETA - b) / (1 - b)) ** 2) * (1 - ratio) / (1 - BETA)
    return c * RHO0 * math.sqrt(T0 / t_up) * up * share


def series(*parts: tuple[float, float]) -> tuple[float, float]:
    if min(c for c, _ in parts) <= 0:
        return 0.0, 0.3
    c = sum(c**-3 for c, _ in parts) ** (-1 / 3)
    b = 1 - c**2 * sum((1 - b) / c_i**2 for c_i, b in parts)
    return c, min(max(b, 0.02), 0.6)


def tube(d: float, length: float) -> tuple[float, float]:
    c = 0.029 * d**2 / math.sqrt(length / d**1.25 + 510)
    return c, min(max(474 * c / d**2, 0.05), 0.55)


def paths(p: Params, port: str) -> dict[str, Any]:
    """C and b of the parts of one port: what lies before the node and behind it, by direction."""
    sup, exh = (p["Cvs"], p["bvs"]), series((p["Cve"], p["bve"]), (p["Cmuf"], 0.3))
    node, d, length = p[f"node{port}"], p[f"d{port}"], p[f"L{port}"]
    hose = tube(d, length / 2 if node else length)
    needle = min(p["fcFree"], p["fcC"] * (0.02 + 0.98 * p[f"fc{port}"] ** 1.5))
    c_in, c_out = (p["fcFree"], needle) if p["fc_mode"] == "out" else (needle, p["fcFree"])
    tin = series(hose, (c_in, p["fcb"])) if p["hasfc"] else hose
    tout = series(hose, (c_out, p["fcb"])) if p["hasfc"] else hose
    return {"node": node, "pre": hose, "sup": sup, "exh": exh, "in": tin, "out": tout}


@dataclass
class Run:
    """Events and the end of a run: arrivals as (time, "x+0.25"), hits as (time, "endL" or "end0", speed)."""

    first: float | None = None
    arrivals: list[tuple[float, str]] = field(default_factory=list)
    hits: list[tuple[float, str, float]] = field(default_factory=list)
    stops: list[float] = field(default_factory=list)
    y: Any = None
    evaluations: int = 0


class Plain:
    """One cylinder on its valve. `opening(t)` of each port is found from the commands."""

    def __init__(self, p: Params, commands: Sequence[Sequence[Any]]) -> None:
        self.p = p
        self.path = {port: paths(p, port) for port in "AB"}
        self.moves = valve_moves(p, commands)
        self.mode = 0

    def opening(self, port: int, t: float) -> tuple[str, float]:
        """Which way the port is connected, and how far."""
        half = self.p["t_ramp"] / 2
        state = self.moves[0][1][port]
        for start, new in self.moves[1:]:
            if t <= start:
                return state, 1.0
            if new[port] == state:
                continue
            if t <= start + half:
                return state, 1 - (t - start) / half
            if t <= start + 2 * half:
                return new[port], (t - start - half) / half
            state = new[port]
        return state, 1.0

    def start(self) -> Any:
        y = np.zeros(11)
        y[X] = self.p["x0"] * self.p["stroke"]
        y[PM] = self.p["pS"]
        for port, i in (("A", PA), ("B", PB)):
            state = "E" if self.p[f"{port}_open"] else self.moves[0][1]["AB".index(port)]
            given = self.p.get(f"p0{port}")
            y[i] = given if given is not None else self.p["pS"] if state == "S" else PATM
            y[i + 1] = y[i] * self.volume(port, y[X]) / (R * T0)
            y[i + 2] = y[i]
        return y

    def volume(self, port: str, x: float) -> float:
        p = self.p
        lumped = 0.0 if p[f"node{port}"] else p[f"Vt{port}"]
        run = x if port == "A" else p["stroke"] - x
        return p[f"dead{port}"] + lumped + p[f"A{port}"] * run

    def net_force(self, y: Any) -> float:
        p = self.p
        pull = p["Fe0"] + p["Fe1"] * y[X] - p["mass"] * G * math.sin(math.radians(p["angle"]))
        return (y[PA] - PATM) * p["AA"] - (y[PB] - PATM) * p["AB"] + pull

    def friction(self, v: float) -> float:
        p = self.p
        return p["Fc"] + (p["Fs"] - p["Fc"]) * math.exp(-((abs(v) / p["vs"]) ** 2)) + p["visc"] * abs(v)

    def cushion(self, port: str, x: float) -> float:
        """What is left of the way out near this end: falls to cushC over the first fifth of the cushion."""
        p = self.p
        length, left = p.get(f"cush{port}", 0.0), x if port == "A" else p["stroke"] - x
        if length == 0 or left >= length:
            return 1.0
        shut = min(p["cushC"] / self.path[port]["out"][0], 1.0)
        return 1 - (1 - shut) * min((length - left) / (0.2 * length), 1.0)

    def valve_path(self, port: str, t: float) -> tuple[str, float, float]:
        """S, E or X, with C and b of the valve side, in series with the tube's first half where there is a node."""
        state, u = self.opening("AB".index(port), t)
        path = self.path[port]
        if state == "X" or u <= 0:
            return "X", 0.0, 0.3
        c, b = path["sup"] if state == "S" else path["exh"]
        c, b = series((u * c, b), path["pre"]) if path["node"] else (u * c, b)
        return state, c, b

    def port_rates(self, port: str, t: float, y: Any, dy: Any) -> None:
        i = PA if port == "A" else PB
        pressure, mass, q = y[i], y[i + 1], y[i + 2]
        volume = self.volume(port, y[X])
        # A trial of the integrator may have no air left; it is rejected afterwards, but must not end the run.
        temperature = max(pressure * volume / (max(mass, 1e-9) * R), 30.0)
        path, p = self.path[port], self.p
        state, c, b = self.valve_path(port, t)
        source = y[PM] if state == "S" else PATM
        through = 0.0
        out_c, out_b = path["out"]
        if path["node"]:
            out_c *= self.cushion(port, y[X])
            if state != "X":
                through = flow(c, b, source, q, T0) if source > q else -flow(c, b, q, source, T0)
            into = (flow(*path["in"], q, pressure, T0) if q > pressure
                    else -flow(out_c, out_b, pressure, q, temperature))
            dy[i + 2] = R * T0 / p[f"Vt{port}"] * (through - into)
        else:
            into = 0.0
            if state != "X":
                if source > pressure:
                    into = flow(*series((c, b), path["in"]), source, pressure, T0)
                else:
                    both, ratio = series((c, b), (out_c, out_b))
                    into = -flow(both * self.cushion(port, y[X]), ratio, pressure, source, temperature)
            through = into
        if state == "S":
            dy[SUPPLIED] += through
        if state == "E":
            dy[EXHAUSTED] -= through
        area, sigma = p[f"A{port}"], 1 if port == "A" else -1
        wall = 2 * area + math.pi * p["bore"] * volume / area
        carried = CP * (T0 if into > 0 else temperature) * into
        heat = p["hw"] * wall * (T0 - temperature)
        dy[i + 1] = into
        dy[i] = ((GAMMA - 1) * (carried + heat) - GAMMA * pressure * area * sigma * y[V]) / volume

    def rates(self, t: float, y: Any) -> Any:
        dy = np.zeros(11)
        for port in "AB":
            if not self.p[f"{port}_open"]:
                self.port_rates(port, t, y, dy)
        if self.p["supply"] == "node":
            opening = min(max((self.p["pS"] - y[PM]) / self.p["band"], 0.0), 1.0)
            fed = flow(self.p["Creg"] * opening, self.p["breg"], self.p["pTank"], y[PM], T0)
            dy[PM] = R * T0 / self.p["Vm"] * (fed - dy[SUPPLIED])
        if self.mode:
            dy[X] = y[V]
            dy[V] = (self.net_force(y) - self.mode * self.friction(y[V])) / self.p["mass"]
        return dy


def valve_moves(p: Params, commands: Sequence[Sequence[Any]]) -> list[tuple[float, tuple[str, str]]]:
    """(time at which the spool begins to move, states of A and B); the first entry is the state before."""
    moves = [(-math.inf, (commands[0][1], commands[0][2]))]
    ready = -math.inf
    for t, a, b, energise in commands[1:]:
        start = max(t, ready) + (p["t_on"] if energise else p["t_off"])
        ready = start + p["t_ramp"]
        moves.append((start, (a, b)))
    return moves


def run(p: Params, commands: Sequence[Sequence[Any]], until: float, method: str = "Radau", rtol: float = 1e-9,
        places: Sequence[float] = PLACES) -> Run:
    """Integrate from 0 to `until`, stopping wherever the equations change. `places`: fractions to find arrivals at."""
    plain, out = Plain(p, commands), Run()
    corners = sorted({c for start, _ in plain.moves[1:] for c in
                      (start, start + p["t_ramp"] / 2, start + p["t_ramp"]) if 0 < c < until} | {until})
    scale = np.array([p["stroke"], 0.1, 1e5, 1e-5, 1e5, 1e5, 1e-5, 1e5, 1e5, 1e-5, 1e-5])
    y, t = plain.start(), 0.0
    plain.mode = _decide(plain, y)
    out.first = 0.0 if plain.mode else None
    for corner in corners:
        while t < corner:
            stood = y[X]
            found = solve_ivp(plain.rates, (t, corner), y, method=method, rtol=rtol, atol=rtol * scale,
                              events=_events(plain, stood, places), max_step=0.05)
            if found.status < 0:
                raise RuntimeError(f"{method} gave up at {found.t[-1]} s: {found.message}")
            out.evaluations += found.nfev
            t, y = found.t[-1], found.y[:, -1].copy()
            if plain.mode == 0:
                y[X], y[V] = stood, 0.0
            _note_arrivals(plain, found, out, places)
            _settle(plain, found, t, y, out)
    out.y = y
    return out


def _decide(plain: Plain, y: Any) -> int:
    force, hold, stroke = plain.net_force(y), plain.p["Fs"], plain.p["stroke"]
    if force > hold and y[X] < stroke:
        return 1
    return -1 if force < -hold and y[X] > 0 else 0


def _events(plain: Plain, x: float, places: Sequence[float]) -> list[Any]:
    """What ends the piece, and after it the places passed. At rest `x` is where the rod stands, free of rounding."""
    p, mode = plain.p, plain.mode
    if mode == 0:
        y_out = lambda t, y: plain.net_force(y) - p["Fs"] if x < p["stroke"] else -1.0  # noqa: E731
        y_in = lambda t, y: plain.net_force(y) + p["Fs"] if x > 0 else 1.0  # noqa: E731
        last = [(y_out, 1), (y_in, -1)]
    else:
        end = p["stroke"] if mode > 0 else 0.0
        # A hair below zero: a rod that has just broken away stands at exactly zero.
        last = [(lambda t, y: y[V] * mode + 1e-9, -1), (lambda t, y: (y[X] - end) * mode, 1)]
    found = []
    for function, direction in last:
        function.terminal, function.direction = True, direction
        found.append(function)
    for place in places if mode else ():
        found.append(lambda t, y, place=place: y[X] - place * p["stroke"])
    return found


def _note_arrivals(plain: Plain, found: Any, out: Run, places: Sequence[float]) -> None:
    if plain.mode == 0:
        return
    sign = "+" if plain.mode > 0 else "-"
    for fraction, times in zip(places, found.t_events[2:], strict=True):
        out.arrivals += [(t, f"x{sign}{fraction}") for t in times]


def _settle(plain: Plain, found: Any, t: float, y: Any, out: Run) -> None:
    """Carry out the event that ended the piece, if one did."""
    if found.status != 1:
        return
    if plain.mode == 0:
        plain.mode = 1 if len(found.t_events[0]) else -1
        out.first = t if out.first is None else out.first
        return
    if len(found.t_events[1]):
        out.hits.append((t, "endL" if plain.mode > 0 else "end0", float(y[V])))
        y[X] = plain.p["stroke"] if plain.mode > 0 else 0.0
    else:
        out.stops.append(t)
    y[V] = 0.0
    plain.mode = _decide(plain, y)
