"""How a check grows from 2,000 lines to 20,000: `python -m tests.bench.growth`, the bar being 11 times at most.

Several shapes of shows, since each makes another stage work. Both sizes are taken in the same run, in turn, by
processor time, so that what else the machine does weighs on neither; each figure is the least of a few. Below the bar
of a shape stand the stages and checks that grow by more than their share.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from unittest.mock import patch

from sequencer.checks import check_bytes, pipeline
from tests.bench.bar_measure import Base, _two_seconds, show_of

FEW, MANY = 2_000, 20_000
MOST, SEEN_SHARE = 11.0, 0.01
"""The bar; and which part of the whole time a stage must take to be named."""

HEAD = '''show "Marrow Lane"
compressor shed like compressor_20_gal:
manifold bench on shed: ports 4
board box: is host
sensor mushroom like stop_mushroom: on box in0
sensor step like mat: on box in1
lamp house: on box pwm8
lamp sign: on box pwm9
gesture wink of who:
    0 s: who on
    +50 ms: who off
prop window:
    air from bench port 1, regulator 60 psi
    reach fenced
    valve shove like valve_5_2_quarter: on box out0
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 12 in, measured out 0.4 s, back 0.6 s
    lamp eyes: on box pwm0
stop on mushroom trips: window.ram retracts
'''

def many_scares(n: int) -> str:
    return (f"scare peep{n} every {n % 50 + 1} min to {n % 50 + 2} min:\n    0 s: house on\n    1 s: window.eyes on\n"
            "    2 s: house off, window.eyes off\n")


def scares_in_turn(n: int) -> str:
    """Each starts the next, so no two of them run at the same time."""
    start = "on step trips" if n == 0 else ""
    return f"scare turn{n} {start}:\n    0 s: house on\n    1 s: house off\n    then: turn{n + 1} starts\n"


def one_long_scare(n: int) -> str:
    head = "scare long on step trips:\n" if n == 0 else ""
    return (f"{head}    +500 ms: house on\n    +500 ms: house off\n    +1 s: window.ram extends\n"
            f"    then +1 s: window.ram retracts\n    then: sign to {n % 99 + 1} % over 300 ms\n    then: sign off\n")


def long_scares(n: int) -> str:
    """Every 60 of these blocks begin a new scare."""
    return one_long_scare(n % 60).replace("long on step trips", f"long{n // 60} every 1 min to 2 min")


def blocks(n: int) -> str:
    return (f"scare choice{n} on step trips:\n    0 s: pick one:\n        2 of:\n            0 s: house on\n"
            f"            +300 ms: house off\n        1 of:\n            0 s: wink of sign\n"
            f"    then: repeat 3 times every 1 s:\n        0 s: sign on\n        +200 ms: sign off\n"
            f"    then: if step tripped:\n        0 s: window.eyes flashes 2 Hz for 2 s\n")


def gesture_uses(n: int) -> str:
    head = f"scare winks{n // 30} every 1 min to 2 min:\n" if n % 30 == 0 else ""
    return f"{head}    +1 s: wink of house\n    +1 s: wink of sign\n"


def props(n: int) -> str:
    """More than there are pins, so that most of them are told to be on one that is taken. No cylinder is among them:
    how long its strokes take to work out is no matter of lines.
    """
    return (f"prop cart{n}:\n    air from bench port 1, regulator 60 psi\n    reach none\n"
            f"    valve shove like valve_5_2_quarter: on box out{n % 48}\n"
            f"    lamp eyes: on box pwm{n % 16}\n")


def clips(n: int) -> str:
    head = "scare cry on step trips:\n    0 s: horn plays moan0\nspeaker horn: on box out2\n" if n == 0 else ""
    return f'{head}    clip moan{n} "moan{n}.wav"\n'


def nevers(n: int) -> str:
    return f"never: window.ram out while {'house' if n % 2 else 'sign'} on\n"


def lets(n: int) -> str:
    return f"let pause{n} = {n + 1} ms\n"


def unknown_names(n: int) -> str:
    return f"scare lost{n} on step trips:\n    0 s: huose{n} on\n    1 s: sign off\n"


def broken_lines(n: int) -> str:
    lines = "    0 s: house on\n    1 s; sign off\n    2 s: house on off\n    3 s: sign off\n"
    return f"scare torn{n} on step trips:\n{lines}"


def random_waits(n: int) -> str:
    head = "scare wander on step trips:\n" if n == 0 else ""
    return f"{head}    +100 ms to 300 ms: house on\n    then +1 s to 2 s: house to 20 % over 300 ms\n"


SHAPES = (
    many_scares, scares_in_turn, one_long_scare, long_scares, blocks, gesture_uses, props, clips, nevers,
    lets, unknown_names, broken_lines, random_waits,
)


def show_in(shape: Callable[[int], str], lines: int) -> bytes:
    """A show of about that many lines of one shape."""
    text, count = [HEAD], HEAD.count("\n")
    number = 0
    while count < lines:
        text.append(shape(number))
        count += text[-1].count("\n")
        number += 1
    return "".join(text).encode()


Times = dict[str, float]


@contextmanager
def timed(times: Times) -> Iterator[None]:
    """Notes the processor time of each stage and of each check while a show is checked."""

    def measured(name: str, stage: Callable, *args: object, **named: object) -> object:
        begin = time.process_time()
        try:
            found = stage(*args, **named)
            return list(found) if name.startswith("check ") else found
        finally:
            times[name] = times.get(name, 0.0) + time.process_time() - begin

    stages = ("read_show", "measure_clips", "plan_show", "compile_plan")
    patches = [patch.object(pipeline, name, partial(measured, name, getattr(pipeline, name))) for name in stages]
    for check in pipeline.checks():
        find = next(name for name in ("find", "find_among", "find_in") if hasattr(check, name))
        name = f"check {check.__name__.rpartition('.')[2]}"
        patches.append(patch.object(check, find, partial(measured, name, getattr(check, find))))
    for one in patches:
        one.start()
    try:
        yield
    finally:
        for one in patches:
            one.stop()


def check_ms(data: bytes, times: Times | None = None) -> float:
    """The processor time of one check with nothing remembered, in milliseconds."""
    begin = time.process_time()
    if times is None:
        check_bytes(data, "a.show", Base("")._read, _two_seconds)
    else:
        with timed(times):
            check_bytes(data, "a.show", Base("")._read, _two_seconds)
    return (time.process_time() - begin) * 1000


def growth(small: bytes, large: bytes, runs: int) -> str:
    """The growth of the whole, with both times."""
    check_ms(small)
    pairs = [(check_ms(small), check_ms(small), check_ms(large)) for _ in range(runs)]
    few, many = min(min(one, other) for one, other, _ in pairs), min(found for _, _, found in pairs)
    word = "" if many <= MOST * few else f"   above {MOST:.0f}"
    return f"{few:7.0f} ms {many:8.0f} ms {many / few:7.2f} x{word}"


def stages(small: bytes, large: bytes) -> Iterator[str]:
    """The stages and checks that take a part worth naming and grow by more than the bar."""
    before: Times = {}
    after: Times = {}
    check_ms(small, before)
    whole = check_ms(large, after) / 1000
    for name, took in sorted(after.items(), key=lambda item: -item[1]):
        ratio = took / max(before.get(name, 0.0), 1e-5)
        if took > SEEN_SHARE * whole and ratio > MOST:
            yield f"    {name:28} {before.get(name, 0.0) * 1000:7.1f} ms {took * 1000:8.1f} ms {ratio:7.2f} x"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(2**31))
    names = ("generated", *(shape.__name__ for shape in SHAPES))
    parser.add_argument("--only", nargs="+", choices=names, default=names)
    options = parser.parse_args()
    print(f"seed {options.seed}; a check of {FEW:,} lines, of {MANY:,}, and its growth, at most {MOST:.0f} x due")
    rows = [("generated", lambda lines: show_of(lines, random.Random(options.seed), moves=False).encode())]
    rows += [(shape.__name__, partial(show_in, shape)) for shape in SHAPES]
    for name, write in rows:
        if name in options.only:
            small, large = write(FEW), write(MANY)
            print(f"{name:20} {growth(small, large, options.runs)}", flush=True)
            for line in stages(small, large):
                print(line, flush=True)


if __name__ == "__main__":
    main()
