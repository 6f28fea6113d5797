"""How long a cold `check` takes, and how much of it is the command line. Run it by hand: it asserts nothing.

    python tests/cli/bench_start.py [FILE] [RUNS]

Three processes take turns: Python alone, the checks called directly, and the command. The last less the second
is what click, the group of commands and the rendering cost.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
DIRECTLY = (
    "import sys; from pathlib import Path; from sequencer.checks import check_file; check_file(Path(sys.argv[1]))"
)


def seconds(*command: str) -> float:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    subprocess.run([sys.executable, *command], env=env, capture_output=True, check=False)
    return time.perf_counter() - start


def main() -> None:
    file = sys.argv[1] if len(sys.argv) > 1 else str(ROOT / "shows" / "marrow_lane" / "marrow_lane.show")
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    commands = {
        "python alone": ("-c", "pass"),
        "checks, called directly": ("-c", DIRECTLY, file),
        "sequencer check": ("-m", "sequencer", "check", file),
    }
    taken: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(runs):
        for name, command in commands.items():
            taken[name].append(1000 * seconds(*command))
    for name, times in taken.items():
        print(f"{name:<24} median {statistics.median(times):6.1f} ms, least {min(times):6.1f} ms")
    direct, whole = taken["checks, called directly"], taken["sequencer check"]
    more = [b - a for a, b in zip(direct, whole, strict=True)]
    print(f"{'the command line itself':<24} median {statistics.median(more):6.1f} ms of {runs} pairs")


if __name__ == "__main__":
    main()
