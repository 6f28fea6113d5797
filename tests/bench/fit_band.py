"""How often a prop that was timed lands within the band it was given: python tests/bench/fit_band.py [PROPS] [SEED].

Each prop is drawn with hidden needles, seals, valve delay and flow; its times are taken with the coarseness of a film
of 30 pictures a second and fitted. Counted, of both ways of each: whether the true arrival lies within the new band,
and that of another evening, on which seals, valve and regulator differ a little. The demand: 95 of 100. Ends with 1
where it is missed.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from sequencer.sizing.fitted import fitted
from tests.sizing.hidden import draw

DEMAND = 0.95


def main() -> int:
    props = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    within, evening, widths, before, took, reached = 0, 0, list[float](), list[float](), list[float](), 0
    for _ in range(props):
        hidden = draw(rng)
        start = time.process_time()
        found = fitted(hidden.request)
        took.append(time.process_time() - start)
        for way in found.ways:
            low, high = way.after.fastest_us / 1e6, way.after.slowest_us / 1e6
            within += low <= hidden.true_s[way.toward] <= high
            evening += low <= hidden.evening_s[way.toward] <= high
            widths.append((high - low) / 2 / hidden.true_s[way.toward])
            reached += way.reached
            if way.before is not None and way.before.arrives:
                before.append(abs(way.before.end_us / 1e6 / hidden.true_s[way.toward] - 1))
    ways = 2 * props
    print(f"{props} props, {ways} ways, {reached} with settings that give the time taken")
    print(f"true arrival within the new band: {within} of {ways}, {within / ways:.1%}")
    print(f"arrival of another evening within it: {evening} of {ways}, {evening / ways:.1%}")
    print(f"half the band: median {statistics.median(widths):.1%} of the arrival; as described it was "
          f"{statistics.median(before):.0%} off (median)")
    print(f"a fit of both ways with its bands: median {1000 * statistics.median(took):.0f} ms of processor time")
    return 0 if min(within, evening) / ways >= DEMAND else 1


if __name__ == "__main__":
    sys.exit(main())
