"""One cylinder, commands and a time -> what its piston and its air do: pieces of steady valve, events, samples.

The machine has three modes: -1 and +1 sliding home and out, 0 at rest. Within a piece of one mode and one opening of
the valve the equations are smooth; `solver` carries them from event to event. What the samples mean for a prop is
left to `motion`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from sequencer.air.cylinder import CLOSED, CylinderAir, Port
from sequencer.air.driven import acceleration_of, held_between
from sequencer.air.equations import Line, MakeUp
from sequencer.air.flow import BETA, Flow
from sequencer.air.gas import DENSITY_ANR_KG_M3, GAMMA, GAS_CONSTANT_J_KG_K, T_ANR_K
from sequencer.air.series import LEAST_B, MOST_B
from sequencer.air.settle import Way, settled_after, settling_s, ways_in
from sequencer.air.solver import PORT_NUMBERS, Solver, compiled
from sequencer.air.spool import Command, Piece
from sequencer.air.spool import Way as Connected
from sequencer.frozen import frozen

RT0 = GAS_CONSTANT_J_KG_K * T_ANR_K
TOLERANCE = 2e-4
"""Largest error of a step, as a share. What comes of it on reference cases is measured by the tests."""
LONGEST_STEP_S = 0.05
STOPPED_STEP_S = 4e-3
"""Nothing longer is tried first once a rod has come to a stand: its air has yet to find out."""
MOST_EVENTS, MOST_HOPS = 20_000, 150
"""Stops and starts of one run, for a given time or up to an end; a rod that sticks and slips makes ten a second."""

EventKind = Literal["go", "hit", "stop"]
Until = Literal["time", "out", "home", "settled"]
"""How long to go on after the last command: for the whole time; until the rod meets that end; until it stands and every
pressure is within 1 % of what it is connected to. The two in the middle end with the last as well."""


class NotSettling(ValueError):
    """The equations of this cylinder could not be carried on; the message says where and what to look at."""


class Hopping(NotSettling):
    """The rod sticks and slips so often that following each hop would take too long."""


@frozen
class Event:
    """`go`: the rod breaks away towards `toward`; `stop`: it rests midway; `hit`: it meets an end at `v_m_s`."""

    kind: EventKind
    at_s: float
    x_m: float
    v_m_s: float
    toward: int


@frozen
class Begun:
    """A cylinder at an instant: place, speed, its air in the order of `make_up.gases`, what its valve connects.

    `pending` are commands of before whose shift of the spool is not over; their times count from that instant, so they
    are 0 or less, and `ways` is what the valve connected before them.
    """

    x_m: float
    v_m_s: float
    gases: tuple[float, ...]
    ways: tuple[Connected, Connected]
    pending: tuple[Command, ...] = ()


@dataclass(slots=True)
class Run:
    """What came of it. A sample is (t, x, v, gases...) in the order of `make_up.gases`.

    A piece in `pieces` is when it began, what the valve connected in it, and what had been supplied by then.
    """

    make_up: MakeUp
    samples: list[tuple[float, ...]]
    events: list[Event]
    supplied_kg: float = 0.0
    exhausted_kg: float = 0.0
    pieces: list[tuple[float, tuple[Connected, Connected], float]] = field(default_factory=list)


@dataclass(slots=True)
class _State:
    """Where the run is. `gases` in the order of the make-up."""

    t: float
    h: float
    mode: int
    x: float
    v: float
    gases: list[float]
    run: Run = field(repr=False)
    held_at: tuple[float, float, float] = (math.nan, 0.0, 0.0)
    """A place at which the rod stood, and the forces that it withstands there, see `_held`."""


def integrate(cylinder: CylinderAir, before: tuple[Connected, Connected] | Begun, pieces: Sequence[Piece],
              tolerance: float = TOLERANCE, until: Until = "time") -> Run:
    """Carry the cylinder through all pieces, or as far as `until` says. Raises NotSettling where that cannot be."""
    make_up = make_up_of(cylinder)
    solver = compiled(make_up)(numbers_of(cylinder, tolerance))
    state = _begun(cylinder, make_up, before) if isinstance(before, Begun) else _start(cylinder, make_up, before)
    state.run.samples.append((0.0, state.x, state.v, *state.gases))
    held = held_kg(cylinder, state.gases)
    for piece in pieces:
        state.run.pieces.append((state.t, (piece.cap, piece.rod), state.run.supplied_kg))
        ways = ways_of(cylinder, make_up, piece)
        solver.connect(ways)
        last = piece is pieces[-1]
        _through(cylinder, solver, state, piece, ways, until if last else "time")
        before_piece, held = held, held_kg(cylinder, state.gases)
        _book(state.run, before_piece, held, piece)
    return state.run


def make_up_of(cylinder: CylinderAir) -> MakeUp:
    def line(port: Port) -> Line:
        return "open" if port.open else "node" if port.node_m3 > 0 else "lumped"

    cap, rod = cylinder.cap, cylinder.rod
    return MakeUp(line(cap), line(rod), cap.cushion_m > 0, rod.cushion_m > 0, cylinder.manifold is not None,
                  cylinder.drives is not None, cap_quick=cap.quick_pa > 0, rod_quick=rod.quick_pa > 0)


def numbers_of(cylinder: CylinderAir, tolerance: float) -> dict[str, Any]:
    """The numbers that the equations name, see `solver`."""
    friction, load, manifold = cylinder.friction, cylinder.load, cylinder.manifold
    low, high = cylinder.ends_m
    found: dict[str, Any] = {
        "stroke": cylinder.stroke_m, "low": low, "high": high, "im": 1 / load.mass_kg, "F0": load.steady_n(),
        "F1": load.rate_n_m, "Fc": friction.sliding_n, "dF": friction.static_n - friction.sliding_n,
        "B": friction.viscous_n_s_m, "ivs2": friction.stribeck_m_s**-2, "u_far": 5 * friction.stribeck_m_s,
        "ambient": cylinder.ambient_pa, "unit": 1 / tolerance, "longest": LONGEST_STEP_S, "pset": cylinder.supply_pa,
    }
    if cylinder.drives is not None:
        found["drive"] = acceleration_of(cylinder.drives, load.mass_kg)
    if manifold is not None:
        gr, br, kr, lr = _law(manifold.regulator.c_m3_s_pa, manifold.regulator.b)
        found |= {"band": manifold.band_pa, "ptank": manifold.inlet_pa, "gr": gr, "br": br, "kr": kr, "lr": lr,
                  "kM": RT0 / manifold.volume_m3}
    for letter, port in (("A", cylinder.cap), ("B", cylinder.rod)):
        heat = (GAMMA - 1) * cylinder.wall_w_m2_k
        shut = port.cushion_c_m3_s_pa / port.leave.c_m3_s_pa if port.cushion_m > 0 else 1.0
        values = (port.dead_m3, port.area_m2, heat * 2 * port.area_m2, heat * math.pi * cylinder.bore_m / port.area_m2,
                  RT0 / port.node_m3 if port.node_m3 > 0 else 0.0, port.cushion_m, min(shut, 1.0),
                  1 / port.quick_pa if port.quick_pa > 0 else 0.0)
        found |= {f"{name}{letter}": value for name, value in zip(PORT_NUMBERS, values, strict=True)}
    return found


def ways_of(cylinder: CylinderAir, make_up: MakeUp, piece: Piece) -> tuple[Any, ...]:
    """What the valve connects each port to, as the equations name it: source, then C and b by direction."""
    found: list[Any] = []
    for port, way, opening in ((cylinder.cap, piece.cap, piece.cap_opening),
                               (cylinder.rod, piece.rod, piece.rod_opening)):
        if port.open:
            continue
        valve = port.supply if way == "S" else port.exhaust if way == "E" else CLOSED
        found += (cylinder.supply_pa if way == "S" else cylinder.ambient_pa, way == "S")
        swing = opening, piece.half
        if port.node_m3 > 0:
            found += (*_path(valve, swing, port.before), *_law(port.enter.c_m3_s_pa, port.enter.b),
                      *_law(port.leave.c_m3_s_pa, port.leave.b))
        else:
            found += (0.0, 0.0, 0.0, 0.0, *_path(valve, swing, port.enter))
            # A quick exhaust stays shut while the valve shuts the line in.
            found += (_law(port.leave.c_m3_s_pa, port.leave.b) if port.quick_pa > 0 and way != "X"
                      else _path(valve, swing, port.leave))
    return tuple(found)


def _path(valve: Flow, swing: tuple[float, float], other: Flow) -> tuple[float, float, float, float]:
    """A valve opened so far and what is behind it, ready for the equations.

    The rule of `series.in_series`; while the spool moves, by so much to either side, C is its mean over the piece, by
    Simpson's rule.
    """
    opening, aside = swing
    c, d = valve.c_m3_s_pa * opening, other.c_m3_s_pa
    if c <= 0 or d <= 0:
        return 0.0, 0.3, 1 / 0.7, 0.0
    both = (c**-3 + d**-3) ** (-1 / 3)
    ratio = 1 - both * both * ((1 - valve.b) / (c * c) + (1 - other.b) / (d * d))
    if opening < 1.0:
        half = valve.c_m3_s_pa * aside
        least = ((c - half) ** -3 + d**-3) ** (-1 / 3) if c - half > 1e-6 * c else 0.0
        both = (least + 4 * both + ((c + half) ** -3 + d**-3) ** (-1 / 3)) / 6
    return _law(both, min(max(ratio, LEAST_B), MOST_B))


def _law(c: float, b: float) -> tuple[float, float, float, float]:
    """C rho, b, 1 / (1 - b), and the slope of the straight line near equal pressures."""
    along = (BETA - b) / (1 - b)
    g = c * DENSITY_ANR_KG_M3
    return g, b, 1 / (1 - b), g * math.sqrt(1 - along * along) / (1 - BETA)


def _start(cylinder: CylinderAir, make_up: MakeUp, before: tuple[Connected, Connected]) -> _State:
    """At rest, every pressure that of what it is connected to, all air as warm as outside."""
    gases: list[float] = []
    for letter, line, _ in make_up.ports():
        port, way = (cylinder.cap, before[0]) if letter == "A" else (cylinder.rod, before[1])
        pressure = cylinder.supply_pa if way == "S" else cylinder.ambient_pa
        pressure = pressure if port.start_pa is None else port.start_pa
        gases += [pressure, pressure * _volume(cylinder, letter, cylinder.start_m) / RT0]
        gases += [pressure] if line == "node" else []
        gases += [0.0] if port.quick_pa > 0 else []
    gases += [cylinder.supply_pa] if make_up.manifold else []
    state = _State(0.0, 1e-3, 0, cylinder.start_m, 0.0, gases, Run(make_up, [], []))
    state.mode = _decide(cylinder, state)
    if state.mode:
        state.run.events.append(Event("go", 0.0, state.x, 0.0, state.mode))
    return state


def _begun(cylinder: CylinderAir, make_up: MakeUp, begun: Begun) -> _State:
    """Where it was left; a rod that stands may set out at once."""
    state = _State(0.0, 1e-3, 0, begun.x_m, begun.v_m_s, list(begun.gases), Run(make_up, [], []))
    state.mode = 1 if state.v > 0 else -1 if state.v < 0 else _decide(cylinder, state)
    if state.mode and state.v == 0:
        state.run.events.append(Event("go", 0.0, state.x, 0.0, state.mode))
    return state


def _volume(cylinder: CylinderAir, letter: str, x: float) -> float:
    port, run = (cylinder.cap, x) if letter == "A" else (cylinder.rod, cylinder.stroke_m - x)
    return port.dead_m3 + port.area_m2 * run


def force_n(cylinder: CylinderAir, make_up: MakeUp, x: float, gases: Sequence[float]) -> float:
    """Net force on the rod but for friction and what it drives, positive outward."""
    pressures = dict(zip(make_up.gases(), gases, strict=True))
    cap = (pressures.get("pA", cylinder.ambient_pa) - cylinder.ambient_pa) * cylinder.cap.area_m2
    rod = (pressures.get("pB", cylinder.ambient_pa) - cylinder.ambient_pa) * cylinder.rod.area_m2
    return cap - rod + cylinder.load.steady_n() + cylinder.load.rate_n_m * x


def _decide(cylinder: CylinderAir, state: _State) -> int:
    """The mode of a rod that stands: where its force beats the friction of rest, and nothing is in the way."""
    up, down = _held(cylinder, state)
    force = force_n(cylinder, state.run.make_up, state.x, state.gases)
    return 1 if force > up else -1 if force < down else 0


def _held(cylinder: CylinderAir, state: _State) -> tuple[float, float]:
    """`_limits` where the rod stands, which is asked for in every piece of a shift."""
    if state.held_at[0] != state.x:
        state.held_at = (state.x, *_limits(cylinder, state.x))
    return state.held_at[1:]


def _limits(cylinder: CylinderAir, x: float) -> tuple[float, float]:
    """Above the first force (see `force_n`) a rod that stands sets out outward, below the second homeward."""
    low, high = cylinder.ends_m
    hold = cylinder.friction.static_n
    up, down = (hold, -hold) if cylinder.drives is None else held_between(cylinder.drives, x, hold)
    return (up if x < high else math.inf), (down if x > low else -math.inf)


def _through(cylinder: CylinderAir, solver: Solver, state: _State, piece: Piece, ways: tuple[Any, ...],
             until: Until) -> None:
    """One piece: from event to event until its time is up, or what `until` waits for has come."""
    run = state.run
    still = piece.cap_opening == piece.rod_opening == 1.0
    while state.t < piece.until_s - 1e-12:
        if len(run.events) > (MOST_EVENTS if until == "time" else MOST_HOPS):
            raise Hopping(f"the rod stops and starts without end around {state.t:.3f} s: friction or needle")
        state.h = min(state.h, LONGEST_STEP_S)
        if state.mode:
            why, state.t, state.h, state.x, state.v, *state.gases = solver.slide(
                state.t, piece.until_s, state.h, state.mode, state.x, state.v, *state.gases, run.samples.append)
        else:
            up, down = _held(cylinder, state)
            near = ways_in(cylinder, ways, state.x) if still else ()
            settle = still and (until != "time" or piece.until_s - state.t > settling_s(cylinder, near))
            why, state.t, state.h, *state.gases = solver.rest(
                state.t, piece.until_s, state.h, state.x, up, down, settle, *state.gases, run.samples.append)
        if why == "lost":
            raise NotSettling(f"no step is short enough at {state.t:.6f} s: look at mass, dead volume and tube")
        if why == "settled":
            if until != "time":
                return
            _freeze(cylinder, state, near, piece.until_s)
        elif why != "time":
            _change(cylinder, state, why)
            if why == "hit" and until == ("out" if state.x > cylinder.ends_m[0] else "home"):
                return


def _change(cylinder: CylinderAir, state: _State, why: EventKind) -> None:
    """Carry out an event: note it and find the mode that follows."""
    low, high = cylinder.ends_m
    if why == "go":
        up, down = _held(cylinder, state)
        force = force_n(cylinder, state.run.make_up, state.x, state.gases)
        toward = 1 if force - up > down - force else -1
        state.run.events.append(Event("go", state.t, state.x, 0.0, toward))
        state.mode, state.h = toward, min(state.h, 2e-3)
        return
    if why == "hit":
        state.x = high if state.mode > 0 else low
    state.x = min(max(state.x, low), high)
    state.run.events.append(Event(why, state.t, state.x, state.v if why == "hit" else 0.0, state.mode))
    state.v, state.h = 0.0, min(state.h, STOPPED_STEP_S)
    state.mode = _decide(cylinder, state)
    if state.mode:
        state.run.events.append(Event("go", state.t, state.x, 0.0, state.mode))
    state.run.samples.append((state.t, state.x, 0.0, *state.gases))


def _freeze(cylinder: CylinderAir, state: _State, ways: Sequence[Way], until_s: float) -> None:
    """The air has all but settled and the rod stands: jump to the end of the piece."""
    state.gases = settled_after(cylinder, ways, state.gases, until_s - state.t)
    state.t = until_s
    state.run.samples.append((state.t, state.x, 0.0, *state.gases))
    state.mode = _decide(cylinder, state)
    if state.mode:
        state.run.events.append(Event("go", state.t, state.x, 0.0, state.mode))


def held_kg(cylinder: CylinderAir, gases: Sequence[float]) -> tuple[float, ...]:
    """Air in the chamber and the tube of either end, none where it is open; what a quick exhaust there has let out."""
    held, at = [0.0, 0.0, 0.0, 0.0], 0
    for end, port in enumerate((cylinder.cap, cylinder.rod)):
        if port.open:
            continue
        held[end] = gases[at + 1]
        at += 2
        if port.node_m3 > 0:
            held[end] += gases[at] * port.node_m3 / RT0
            at += 1
        if port.quick_pa > 0:
            held[2 + end] = gases[at]
            at += 1
    return tuple(held)


def _book(run: Run, before: tuple[float, ...], after: tuple[float, ...], piece: Piece) -> None:
    """What an end holds more than before came through the valve, from the supply or back from outside, but for what
    a quick exhaust has let out."""
    more = [new - old for old, new in zip(before, after, strict=True)]
    for way, held, blown in zip((piece.cap, piece.rod), more[:2], more[2:], strict=True):
        run.exhausted_kg += blown
        if way == "S":
            run.supplied_kg += held + blown
        elif way == "E":
            run.exhausted_kg -= held + blown
