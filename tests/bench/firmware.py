"""Every figure of the firmware, measured on the shipped images in the simulator, beside what is asked for.

    python -m tests.bench.firmware              # all: some 20 minutes
    python -m tests.bench.firmware --quick      # fewer programs and cuts: some 3 minutes
    python -m tests.bench.firmware --write      # all, and the table of firmware_stub/README.md renewed

In parts, each of which prints its own rows:

    python -m tests.bench.firmware --only differences --programs 0:250   # of the thousand the first 250; 250:250, ...
    python -m tests.bench.firmware --only cuts --uploads 0               # of the four uploads the first, cut as often
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

from sequencer.board.profiles import AVR328, AVR2560
from sequencer.steps import encode
from tests.firmware.bench import figures
from tests.firmware.bench.cuts import Outcome, Upload, packets_of_flash, sweep
from tests.firmware.bench.driver import CHIPS, FIRMWARE, build_bench, build_firmware
from tests.firmware.bench.play import edges_by_board, edges_by_rules, first_difference
from tests.firmware.bench.programs import all_on, filled, one_pulse
from tests.firmware.bench.random_cases import avr_case, demo_case

README = FIRMWARE / "README.md"
BEGIN, END = "<!-- figures: begin -->", "<!-- figures: end -->"
WORKERS = os.cpu_count() or 1


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what, what is asked for, what was measured, and whether that is kept (None: no limit)."""

    what: str
    wanted: str
    measured: str
    kept: bool | None = None

    def __str__(self) -> str:
        mark = {True: "yes", False: "**no**", None: ""}[self.kept]
        return f"| {self.what} | {self.wanted} | {self.measured} | {mark} |"


def sizes() -> Iterator[Row]:
    small, large = figures.size("avr328"), figures.size("avr2560")
    yield Row("flash, avr328", "at most 12,288 bytes", f"{small.flash:,} bytes", small.flash <= 12_288)
    yield Row("flash, avr2560", "", f"{large.flash:,} bytes")
    yield Row("RAM of variables, avr328", "at most 1.4 KB (1,433 bytes)", f"{small.ram:,} of 2,048", small.ram <= 1433)
    yield Row("RAM of variables, avr2560", "", f"{large.ram:,} of 8,192")


def ticks() -> Iterator[Row]:
    load = figures.load()
    share = load.worst / figures.TICK
    yield Row(
        "worst tick, avr328: 8 routines each on a line of its cue, 6 fades, 3 flashes, link full",
        "at most 40 % of 1 ms",
        f"{load.worst:,} cycles, {share:.1%}; mean {load.mean:,}, disarmed {load.idle:,}", share <= 0.40,
    )  # fmt: skip
    yield Row(
        "the tick in which all eight are started by one trigger", "below 1 ms",
        f"{load.start:,} cycles, {load.start / figures.TICK:.1%}", load.start < figures.TICK,
    )  # fmt: skip
    yield Row("bytes lost, ticks late meanwhile", "0, 0", f"{load.overruns}, {load.missed}", not load.overruns)
    yield Row(
        "stack to spare, avr328", "at least 300 bytes", f"{load.free_stack} bytes", load.free_stack >= 300
    )
    full = figures.load(steps_a_tick=7, seconds=1)
    yield Row(
        "the same with 8 steps of each routine, the most that is accepted", "",
        f"{full.worst:,} cycles, {full.worst / figures.TICK:.1%}; {full.missed} ticks late",
    )  # fmt: skip
    large = figures.load(board="avr2560", seconds=1)
    yield Row(
        "worst tick, avr2560, 40 outputs", "", f"{large.worst:,} cycles, {large.worst / figures.TICK:.1%}"
    )
    for board in ("avr328", "avr2560"):
        jitter = figures.jitter(board)
        yield Row(
            f"jitter of {jitter.edges} edges under that load, {board}", "at most 80 cycles",
            f"{jitter.cycles} cycles", jitter.cycles <= 80,
        )  # fmt: skip


def times() -> Iterator[Row]:
    stop, hang = figures.stop_ms(), figures.hang_ms()
    yield Row("stop input to the last output safe", "within 2 ticks", f"{stop:.2f} ms", stop <= 2)
    yield Row("a hang, in the tick or outside, to all pins off", "within 150 ms", f"{hang:.1f} ms", hang <= 150)
    image = encode(filled(AVR328))
    speed = figures.upload_speed(image)
    yield Row(
        f"upload of {len(image)} bytes, all of them new", "at least 90 % of 294 bytes a s",
        f"{speed.rate:.0f} bytes a s, {speed.share:.0%}", speed.share >= 0.90,
    )  # fmt: skip
    yield Row("all of `flash` for it, reading back included", "", f"{figures.flash_seconds(image):.1f} s")
    for off in (0.005, -0.005):
        clock = figures.clock_left(off)
        yield Row(
            f"a clock {100 * off:+.1f} % off against a sound of {clock.seconds / 60:.0f} min, after `trim`",
            "at most 50 ppm",
            f"{clock.left_ppm:.0f} ppm ({clock.after_ms:+.0f} ms; before {clock.before_ms:+.0f} ms)",
            clock.left_ppm <= 50,
        )


def difference(number: int, board: str) -> tuple[int, str | None]:
    """Edges of one random case, and the first difference."""
    case = avr_case(number, board)
    rules = edges_by_rules(case.program, case.seed, case.deeds, case.until, board)
    played = edges_by_board(case.program, case.deeds, case.until, board)
    avr_case.cache_clear()
    return len(rules), first_difference(rules, played.edges)


def differences(first: int, count: int) -> Iterator[Row]:
    """Every fifth case is one for the large board."""
    numbers = range(first, first + count)
    boards = ["avr2560" if number % 5 == 4 else "avr328" for number in numbers]
    with ProcessPoolExecutor(WORKERS) as pool:
        found = list(pool.map(difference, numbers, boards, chunksize=4))
    for board in CHIPS:
        own = [(n, *one) for n, where, one in zip(numbers, boards, found, strict=True) if where == board]
        bad = [f"case {n}: {words}" for n, _, words in own if words]
        said = f"{len(bad)} programs" + (f" ({bad[0]})" if bad else "")
        edges = sum(edges for _, edges, _ in own)
        yield Row(f"random programs with another edge, {board}: {len(own)}, {edges:,} edges", "0", said, not bad)
    case = demo_case()
    rules = edges_by_rules(case.program, case.seed, case.deeds, case.until, "avr2560")
    played = edges_by_board(case.program, case.deeds, case.until, "avr2560")
    words = first_difference(rules, played.edges)
    yield Row(f"the demo show for a minute, {len(rules)} edges", "0 differ", words or "0 differ", words is None)


def cut(job: tuple[Upload, int, int, tuple[int, int] | None]) -> Outcome:
    upload, first, stride, again = job
    return sweep(upload, first, stride, again)


def uploads() -> list[Upload]:
    """First ones and such as replace another program, on both boards."""
    return [
        Upload("avr328", None, encode(filled(AVR328))),
        Upload("avr328", encode(one_pulse(300)), encode(filled(AVR328))),
        Upload("avr2560", encode(all_on(AVR2560)), encode(filled(AVR2560))),
        Upload("avr2560", None, encode(all_on(AVR2560))),
    ]


TEARS, INNER = 4, 6
"""Kinds of torn byte in each cut; places of the second cut for each first one."""


def cuts(singles: int, doubles: int, which: Sequence[int]) -> Iterator[Row]:
    """Cuts at every write where `singles` allows it, else evenly spread, and no fewer; four kinds of torn byte each."""
    chosen = [uploads()[n] for n in which]
    single, double = Outcome(), Outcome()
    ones: list[tuple[Upload, int, int, tuple[int, int] | None]] = []
    pairs = list(ones)
    for upload in chosen:
        _, writes = packets_of_flash(upload)
        share = len(chosen)
        stride = max(1, TEARS * writes * share // singles)
        ones += [(upload, 1 + stride * n, stride * WORKERS, None) for n in range(WORKERS)]
        again = (3, max(1, writes // INNER))
        stride = max(1, TEARS * TEARS * writes * INNER * share // doubles)
        pairs += [(upload, 2 + stride * n, stride * WORKERS, again) for n in range(WORKERS)]
    with ProcessPoolExecutor(WORKERS) as pool:
        for outcome in pool.map(cut, ones):
            single.add(outcome)
        for outcome in pool.map(cut, pairs):
            double.add(outcome)
    for name, outcome, wanted in (("single", single, singles), ("double", double, doubles)):
        ran = ", ".join(f"{count:,} {which}" for which, count in sorted(outcome.ran.items()))
        yield Row(
            f"{name} power cuts in {len(chosen)} uploads, both boards", f"0 bad of {wanted:,}",
            f"{len(outcome.bad)} bad of {outcome.cuts:,} ({ran})", not outcome.bad and outcome.cuts >= wanted,
        )  # fmt: skip


def pace() -> Iterator[Row]:
    yield Row("the bench against real time, a busy avr328", "", f"{figures.pace():.0f} times")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--only", default="", help="names of the parts, with commas between")
    parser.add_argument("--programs", default="0:1000", help="of the random programs the first, and how many")
    parser.add_argument("--uploads", default="0,1,2,3", help="of the uploads that are cut, with commas between")
    asked = parser.parse_args()
    first, count = map(int, asked.programs.split(":"))
    which = [int(number) for number in asked.uploads.split(",")]
    if asked.write and asked.only:
        parser.error("--write renews the whole table, so it takes all parts")
    build_bench()
    for board in ("avr328", "avr2560"):
        build_firmware(board)
    parts: dict[str, Callable[[], Iterator[Row]]] = {
        "sizes": sizes,
        "ticks": ticks,
        "times": times,
        "differences": partial(differences, first, min(count, 50) if asked.quick else count),
        "cuts": partial(cuts, *((500, 200) if asked.quick else (5000, 2000)), which),
        "pace": pace,
    }
    wanted = asked.only.split(",") if asked.only else list(parts)
    rows = ["| figure | asked for | measured | kept |", "|---|---|---|---|"]
    print("\n".join(rows), flush=True)
    for name in wanted:
        began = time.perf_counter()
        for row in parts[name]():
            rows.append(str(row))
            print(row, flush=True)
        print(f"<!-- {name}: {time.perf_counter() - began:.0f} s -->", flush=True)
    if asked.write:
        text = README.read_text(encoding="utf-8")
        before, rest = text.split(BEGIN)
        _, after = rest.split(END)
        README.write_text(before + BEGIN + "\n\n" + "\n".join(rows) + "\n\n" + END + after, encoding="utf-8")


if __name__ == "__main__":
    main()
