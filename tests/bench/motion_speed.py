"""How fast the motion of a cylinder is found, beside SciPy's LSODA: python tests/bench/motion_speed.py.

Two baselines, both `scipy.integrate.solve_ivp(method="LSODA", rtol=1e-4)` stopped at the same events, the arrivals
not searched for: `plain` with the right-hand side of tests/air/reference.py written out plainly, `scalar` with the
very functions that the solver uses itself. The demands: 10 times as fast as the first, 2.5 times as the second, at
no worse an error, median at most 2.5 ms a case. Times are of the processor, so that other work on it does not count.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
from scipy.integrate import solve_ivp

from sequencer.air import integrate as air
from sequencer.air.solver import compiled
from sequencer.air.spool import pieces
from tests.air import reference
from tests.air.case_form import Case, errors_of, read_cases

RTOL = 1e-4
REPEATS = 5
FRACTIONS = reference.PLACES


def ours(case: Case) -> Any:
    trace = case.move()
    for fraction in FRACTIONS:
        trace.arrivals(fraction)
    return trace


def plain(case: Case) -> reference.Run:
    raw = case.raw
    return reference.run(raw["params"], raw["commands"], case.until_s, "LSODA", RTOL, ())


def scalar(case: Case) -> list[float]:
    """LSODA on the solver's own rates; the times at which an end is met."""
    cylinder = case.cylinder
    make_up = air.make_up_of(cylinder)
    solver = compiled(make_up)(air.numbers_of(cylinder, 1e-4))
    state = air._start(cylinder, make_up, case.before)
    hits: list[float] = []
    for piece in pieces(case.before, case.commands, cylinder.spool, case.until_s):
        solver.connect(air.ways_of(cylinder, make_up, piece))
        while state.t < piece.until_s:
            _one_run(cylinder, solver, state, piece.until_s, hits)
    return hits


def _one_run(cylinder: Any, solver: Any, state: Any, until: float, hits: list[float]) -> None:
    mode, x, make_up = state.mode, state.x, state.run.make_up
    scale = [cylinder.stroke_m, 0.1] if mode else []
    scale += [1e-5 if name[0] == "m" else 1e5 for name in make_up.gases()]
    start = [x, state.v, *state.gases] if mode else list(state.gases)
    if mode:
        def rates(_: float, y: Any) -> tuple[float, ...]:
            y = y.tolist()
            return (y[1], *solver.moving(mode, *y))
    else:
        def rates(_: float, y: Any) -> tuple[float, ...]:
            return solver.resting(x, *y.tolist())
    found = solve_ivp(rates, (state.t, until), start, method="LSODA", rtol=RTOL, atol=RTOL * np.array(scale),
                      events=_events(cylinder, state), max_step=0.05)
    state.t, ended = float(found.t[-1]), found.y[:, -1].tolist()
    if mode:
        state.x, state.v, *state.gases = ended
    else:
        state.gases = ended
    if found.status != 1:
        return
    if mode and len(found.t_events[1]):
        hits.append(state.t)
        state.x = cylinder.ends_m[1] if mode > 0 else cylinder.ends_m[0]
    if mode:
        state.v = 0.0
        state.mode = air._decide(cylinder, state)
    else:
        state.mode = 1 if len(found.t_events[0]) else -1


def _events(cylinder: Any, state: Any) -> list[Any]:
    make_up, mode, x, (low, high) = state.run.make_up, state.mode, state.x, cylinder.ends_m
    up, down = air._limits(cylinder, x)
    if mode:
        end = high if mode > 0 else low
        pair = [(lambda t, y: y[1] * mode + 1e-9, -1), (lambda t, y: (y[0] - end) * mode, 1)]
    else:
        pair = [(lambda t, y: air.force_n(cylinder, make_up, x, y) - up if up < 1e300 else -1.0, 1),
                (lambda t, y: air.force_n(cylinder, make_up, x, y) - down if down > -1e300 else 1.0, -1)]
    for function, direction in pair:
        function.terminal, function.direction = True, direction
    return [function for function, _ in pair]


def best_ms(function: Callable[[Case], Any], case: Case, repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = time.thread_time()
        function(case)
        times.append(time.thread_time() - start)
    return min(times) * 1e3


def hit_error(case: Case, hits: list[float]) -> float:
    wanted = [at for at, _, _ in case.raw["reference"]["end_hits"]]
    if len(wanted) != len(hits):
        return 1.0
    return max((abs(one / two - 1) for one, two in zip(hits, wanted, strict=True)), default=0.0)


def main() -> None:
    rows, errors = [], []
    print(f"{'case':36} {'ours ms':>8} {'plain ms':>9} {'scalar ms':>9} {'x plain':>8} {'x scalar':>8}"
          "   worst error of an end met: ours, plain, scalar")
    for case in read_cases():
        row = best_ms(ours, case, REPEATS), best_ms(plain, case, 3), best_ms(scalar, case, 3)
        errors.append((hit_error(case, [hit.at_s for hit in case.move().hits]),
                       hit_error(case, [hit[0] for hit in plain(case).hits]), hit_error(case, scalar(case))))
        rows.append(row)
        print(f"{case.name:36} {row[0]:8.2f} {row[1]:9.2f} {row[2]:9.2f} {row[1] / row[0]:8.1f} {row[2] / row[0]:8.1f}"
              + "   " + " ".join(f"{error:8.4%}" for error in errors[-1]))
    _summary(rows, errors)


def _summary(rows: list[tuple[float, ...]], errors: list[tuple[float, ...]]) -> None:
    columns = list(zip(*rows, strict=True))
    print(f"median ms: ours {statistics.median(columns[0]):.2f}, LSODA plain {statistics.median(columns[1]):.2f}, "
          f"LSODA scalar {statistics.median(columns[2]):.2f}")
    for name, column in (("plain", columns[1]), ("scalar", columns[2])):
        ratios = [one / two for one, two in zip(column, columns[0], strict=True)]
        print(f"times as fast as LSODA {name}: median of cases {statistics.median(ratios):.1f}, "
              f"least {min(ratios):.1f}, all cases together {sum(column) / sum(columns[0]):.1f}")
    for name, column in zip(("ours", "LSODA plain", "LSODA scalar"), zip(*errors, strict=True), strict=True):
        print(f"error of an end met, {name}: median {statistics.median(column):.4%}, worst {max(column):.4%}")
    worst = max(errors_of(case, case.move()).arrival for case in read_cases())
    print(f"ours, worst arrival at any fraction: {worst:.4%}")


if __name__ == "__main__":
    main()
