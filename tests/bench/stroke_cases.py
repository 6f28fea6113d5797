"""How far the motion of a cylinder is from reference outputs: python tests/bench/stroke_cases.py [PATH].

Reads any file of the form of tests/air/data/stroke_cases.json and prints, a case a line, the relative errors. The
demands: arrivals within 0.5 %, end speed within 1 %, free air within 0.5 %; a case marked `sensitive_stick_slip`
within 3 % on arrival. Ends with 1 where a case misses one of them.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.air.case_form import GIVEN, Case, Errors, errors_of, read_cases

ARRIVAL, ARRIVAL_STICKING, END_SPEED, AIR = 0.005, 0.03, 0.01, 0.005


def holds(case: Case, errors: Errors) -> bool:
    if case.sticks:
        return errors.arrival <= ARRIVAL_STICKING and not errors.missing
    return (errors.arrival <= ARRIVAL and errors.end_speed <= END_SPEED and errors.air <= AIR and not errors.missing)


def main() -> int:
    cases = read_cases(Path(sys.argv[1]) if len(sys.argv) > 1 else GIVEN)
    print(f"{'case':38} {'arrival':>9} {'start':>9} {'end speed':>9} {'free air':>9}")
    missed = 0
    for case in cases:
        errors = errors_of(case, case.move())
        good = holds(case, errors)
        missed += not good
        row = " ".join(f"{part:9.4%}" for part in (errors.arrival, errors.first, errors.end_speed, errors.air))
        words = [] if good else ["MISSES"]
        words += ["sticks and slips: arrival only"] if case.sticks else []
        print(f"{case.name:38} {row} {'; '.join([*words, *errors.missing])}".rstrip())
    print(f"{len(cases)} cases, {missed} miss a demand")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
