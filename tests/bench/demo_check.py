"""How long a check of the demo takes: `python -m tests.bench.demo_check [RUNS]`.

Cold: a process of its own, from its start to its end, bytecode in a folder that the first run filled. Warm: what an
editor does, the same process and memory, after a change to one cue: its time moved by 10 to 90 ms, or a line put into
it; every cue of the show in turn, to where it was not before. Demands: 1.0 s cold, 150 ms warm. Times are of the
processor, so that other work on it does not count; beside them what a bare import of two of the libraries takes in the
same run, by which runs on unlike machines can be told apart. The motions are those that were reckoned.
"""

from __future__ import annotations

import os
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from sequencer.air import motion
from sequencer.checks.clips import sounds_in
from sequencer.checks.pipeline import check_bytes
from sequencer.data import folder
from sequencer.language.load import folder_reader
from sequencer.memo import Memo

SHOW = Path(folder("shows")) / "marrow_lane" / "marrow_lane.show"
ROOT = Path(__file__).parents[2]
COLD_S, WARM_S = 1.0, 0.15
CUE = re.compile(r"^( {8,})(\d+(?:.\d+)?) s:( +\S)", re.MULTILINE)


def process_s(arguments: list[str], cache: str) -> float:
    """Processor time of a process of its own, in s."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    begun = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL,
                   env={**kept, "PYTHONPYCACHEPREFIX": cache})
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return ended.ru_utime + ended.ru_stime - begun.ru_utime - begun.ru_stime


def changed_cues(text: str) -> Iterator[str]:
    """The show with the time of one cue changed, for each cue that counts from a scare's start."""
    for number, found in enumerate(CUE.finditer(text)):
        later = float(found[2]) + 0.01 * (1 + number % 9)
        yield f"{text[:found.start()]}{found[1]}{later:.3f} s:{found[3]}{text[found.end():]}"


def motions_counted() -> list[int]:
    """A list whose one number grows with every motion that is reckoned."""
    count, reckon = [0], motion.integrate

    def counted(*arguments: object, **named: object) -> object:
        count[0] += 1
        return reckon(*arguments, **named)  # type: ignore[arg-type]

    motion.integrate = counted  # type: ignore[assignment]
    return count


def cold(runs: int) -> None:
    took, bare = [], []
    with tempfile.TemporaryDirectory() as cache:
        for run in range(runs + 1):
            one = process_s(["-m", "sequencer", "check", str(SHOW)], cache)
            other = process_s(["-c", "import lark, pydantic"], cache)
            if run:
                took.append(one)
                bare.append(other)
    middle, reference = statistics.median(took), statistics.median(bare)
    print(f"cold check of {SHOW.name}: median {middle:.2f} s of processor time of {runs} (at most {COLD_S} s), "
          f"least {min(took):.2f} s; a bare import of lark and pydantic {reference * 1000:.0f} ms, "
          f"so {middle / reference:.1f} times that")


def warm() -> None:
    data, memo, count = SHOW.read_bytes(), Memo(), motions_counted()
    read, sounds = folder_reader(SHOW.parent), sounds_in(SHOW.parent)
    check_bytes(data, SHOW.name, read, sounds, memo)
    print(f"motions reckoned by the first check: {count[0]}")
    took, motions = [], []
    for text in changed_cues(data.decode("utf-8")):
        count[0], begun = 0, time.process_time()
        check_bytes(text.encode("utf-8"), SHOW.name, read, sounds, memo)
        took.append(time.process_time() - begun)
        motions.append(count[0])
    late = sum(one > WARM_S for one in took)
    print(f"check again after one changed cue, {len(took)} cues in turn: median {statistics.median(took) * 1000:.0f} "
          f"ms of processor time, worst {max(took) * 1000:.0f} ms (at most {WARM_S * 1000:.0f} ms; {late} above it); "
          f"motions reckoned: {statistics.median(motions):g} in the median, {max(motions)} at most")


def main() -> None:
    cold(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
    warm()


if __name__ == "__main__":
    main()
