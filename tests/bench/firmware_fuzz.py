"""The fuzzers for as long as wanted: how many inputs they tried, and what they found.

    python tests/bench/firmware_fuzz.py [seconds for each]

600 s unless told otherwise; the tests of each run take 30 s for each.
"""

from __future__ import annotations

import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.firmware.fuzz.fuzzers import FUZZERS, Fuzzer, build_fuzzer, run_fuzzer, seed_corpus


def main() -> None:
    """Runs both beside each other and prints what came of it."""
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 600
    with tempfile.TemporaryDirectory() as name, ThreadPoolExecutor() as pool:
        folder = Path(name)

        def fuzzed(fuzzer: Fuzzer) -> tuple[int, str]:
            return run_fuzzer(build_fuzzer(fuzzer, folder), seed_corpus(fuzzer, folder), seconds)

        for fuzzer, (runs, found) in zip(FUZZERS, pool.map(fuzzed, FUZZERS), strict=True):
            print(f"{fuzzer.name:<14} {seconds} s  {runs:>12,} inputs  {found or 'nothing found'}")


if __name__ == "__main__":
    main()
