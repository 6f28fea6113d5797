"""Prints the bar of the language tools as measured: `python -m tests.bench.bar`, each run with a fresh seed.

`--seed` repeats a run; sizes are options, since the full ones take an hour. Nothing is asserted here: the tests
hold the laws on smaller samples, this tells how far from the bar the tools are.
"""

from __future__ import annotations

import argparse
import os
import random
import secrets
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.bench import bar_measure as measure

Row = tuple[str, str, str]


def rows(options: argparse.Namespace) -> Iterator[Row]:
    """What is measured, the demand, the figure; in the order in which it is measured."""
    rng = random.Random(options.seed)
    shows = measure.bases(rng, options.shows)
    if "slips" in options.only:
        yield from _slips(rng, shows, options)
    if "many" in options.only:
        yield from _many(rng, shows, options)
    if "totality" in options.only:
        count, bad = measure.measure_totality(rng, options.arbitrary, whole=True)
        yield f"totality, {count:,} arbitrary texts and bytes", "0 tracebacks, all spans inside", f"{len(bad)} faults"
        _list(options, bad)
    if "formatter" in options.only:
        count, bad = measure.measure_formatter(rng, options.formatted)
        yield f"formatter, {count:,} random shows", "stable, same show, comments, line ends", f"{len(bad)} faults"
        _list(options, bad)
    if "alarms" in options.only:
        yield from _alarms(rng, options)
    if "times" in options.only:
        yield from _times(rng, options)


def _slips(rng: random.Random, shows: list[measure.Base], options: argparse.Namespace) -> Iterator[Row]:
    counts = measure.measure_slips(rng, shows, options.slips)
    tried, found = sum(counts.tried.values()), sum(counts.found.values())
    yield f"slips, {tried:,}: a finding on the right line", "99 %", _share(found, tried)
    yield "  by kind, found/tried", "", ", ".join(measure.kinds_in_order(counts))
    yield "  of those that break the syntax", "100 %", _share(counts.broke_found, counts.broke)
    yield "  first mend is the original, where the line still tells it", "90 %", _share(counts.mended, counts.tells)
    yield "    of those, where the syntax is broken", "", _share(counts.broke_mended, counts.broke_tells)
    yield "  first mend is the original, where one is offered at all", "", _share(counts.offered_right, counts.offered)
    wrong = len(counts.safe_wrong)
    yield f"  safe mends ({counts.safe:,}) that do not give the original", "0", str(wrong)
    _list(options, [f"missed    {made}" for made in counts.missed])
    _list(options, [f"mismended {made} | {message} | {title}" for made, message, title in counts.mismended])
    _list(options, [f"unsafe    {made} | {title}" for made, title in counts.safe_wrong])


def _many(rng: random.Random, shows: list[measure.Base], options: argparse.Namespace) -> Iterator[Row]:
    counts = measure.measure_many(rng, shows, options.files)
    reported = _share(counts.reported, counts.broken)
    yield f"20 broken lines in one file, {options.files} files: reported", "99.5 %", reported
    yield "  of the reports, true", "90 %", _share(counts.true, counts.findings)
    _list(options, [f"untrue    {text}" for text in counts.untrue])


def _alarms(rng: random.Random, options: argparse.Namespace) -> Iterator[Row]:
    found = measure.measure_false_alarms(rng, options.valid)
    wrong = sum(count for code, count in found.items() if code.startswith("error"))
    yield f"errors on {options.valid:,} valid shows and the shipped ones", "0", str(wrong)
    yield "  all findings there", "", ", ".join(f"{code} {count}" for code, count in sorted(found.items())) or "none"


def _times(rng: random.Random, options: argparse.Namespace) -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as folder:
        demanded = ((200, False, "200 ms: 1.5 times"), (2000, False, "350 ms: 2.7 times"), (200, True, ""),
                    (2000, True, ""))
        for lines, moves, due in demanded:
            path = Path(folder) / f"{lines}.show"
            path.write_text(measure.show_of(lines, rng, moves), encoding="utf-8")
            took = measure.cold_check_ms(path, options.runs)
            what = f"cold check, {lines:,} lines, {'strokes' if moves else 'no strokes'}, of {options.runs}"
            yield what, due, _beside_libraries(took)
    yield "  load of the machine while it ran", "", f"{os.getloadavg()[0]:.1f}"
    text = measure.show_of(2000, rng)
    from sequencer.language.formatter import format_source

    styled = format_source(text)
    for name, source in (("in another style", text.replace(": ", ":   ")), ("in the style already", styled)):
        begin = time.perf_counter()
        format_source(source)
        yield f"format 2,000 lines {name}", "", f"{(time.perf_counter() - begin) * 1000:.0f} ms"
    yield "check again after one edit, 2,000 lines", "20 ms", measure.recheck_ms(text, rng, options.runs)


def _beside_libraries(took: measure.Cold) -> str:
    """Milliseconds are those of this machine; how many times as long as the libraries alone says more."""
    check, libraries = took.check, took.libraries
    times = check.processor / libraries.processor
    return (f"median {check.wall:.0f} ms; processor {check.processor:.0f} ms, {times:.2f} times the "
            f"{libraries.processor:.0f} ms of a process that only loads lark and pydantic")


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.2f} % ({part:,} of {whole:,})" if whole else "none tried"


def _list(options: argparse.Namespace, lines: list[str]) -> None:
    for line in lines[: options.list]:
        print(f"    {line}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=secrets.randbelow(2**31))
    parser.add_argument("--slips", type=int, default=1000)
    parser.add_argument("--shows", type=int, default=12, help="generated shows that are spoilt")
    parser.add_argument("--files", type=int, default=10, help="files with 20 broken lines")
    parser.add_argument("--arbitrary", type=int, default=2000)
    parser.add_argument("--formatted", type=int, default=100)
    parser.add_argument("--valid", type=int, default=50)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--list", type=int, default=0, help="show so many of each kind of miss")
    groups = ("slips", "many", "totality", "formatter", "alarms", "times")
    parser.add_argument("--only", nargs="+", choices=groups, default=groups)
    options = parser.parse_args()
    print(f"seed {options.seed}")
    for what, due, got in rows(options):
        print(f"{what:62} {due:40} {got}", flush=True)


if __name__ == "__main__":
    main()
