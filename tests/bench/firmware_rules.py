"""As many stories as wanted, told to the firmware's rules and to the Python rules: how many came out otherwise.

    python tests/bench/firmware_rules.py [how many] [the first]

20,000 unless told otherwise; the tests of each run take 1,000. Figures are printed, not asserted.
"""

from __future__ import annotations

import sys
import tempfile
import time
from multiprocessing import Pool, cpu_count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from sequencer.steps import encode
from tests.firmware.core.bench import Board, build, limits_of, tell_python
from tests.firmware.stories import RUNNING, case

Counts = tuple[int, int, int, list[int]]
_BATCH = 100


def told(job: tuple[int, int, str]) -> Counts:
    """Stories, edges and entries of one batch, and the stories that differ."""
    first, count, folder = job
    boards = {running: Board(Path(folder) / f"{running}.so") for running in RUNNING}
    edges = entries = 0
    differ = []
    for seed in range(first, first + count):
        one = case(seed, limits_of)
        want = tell_python(one.program, one.limits, seed, one.deeds, one.until)
        got = boards[one.limits.routines_running].play(encode(one.program), seed, one.deeds, one.until)
        edges, entries = edges + len(want.edges), entries + len(want.entries)
        if got != want:
            differ.append(seed)
    return count, edges, entries, differ


def main() -> None:
    """Runs the batches and prints what they came to."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        for running in RUNNING:
            build(Path(folder) / f"{running}.so", running)
        jobs = [(first + at, min(_BATCH, many - at), folder) for at in range(0, many, _BATCH)]
        with Pool(cpu_count()) as pool:
            done = pool.map(told, jobs)
    took = time.monotonic() - began
    differ = [seed for *_, seeds in done for seed in seeds]
    stories, edges, entries = (sum(column) for column in list(zip(*done, strict=True))[:3])
    print(f"stories told to both           {stories:>12,}")
    print(f"edges, each on the same tick   {edges:>12,}")
    print(f"entries of the log             {entries:>12,}")
    print(f"stories that differ            {len(differ):>12,}  {differ[:5] or ''}")
    print(f"stories a minute               {60 * stories / took:>12,.0f}")


if __name__ == "__main__":
    main()
