"""The measurements behind the bar: each takes a seeded generator and sizes, and returns counts.

What is checked is the whole of `check` wherever it runs; a show's sounds are taken to be two seconds long.
"""

from __future__ import annotations

import os
import random
import re
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.findings import Finding, Severity
from sequencer.language.formatter import format_source, same_show
from sequencer.language.lines import strip_comment
from sequencer.language.reader import read_document
from sequencer.memo import Memo
from tests.bench.bar_mutate import KINDS, Slip, apply, inside, logical_lines, physical, same_words, slip
from tests.generate.shows import random_show

SHOWS = Path(__file__).parents[2] / "shows"


@dataclass(frozen=True, slots=True)
class Base:
    """A valid show to spoil, with the folder whose files it uses."""

    text: str
    folder: Path | None = None

    def check(self, text: str) -> tuple[Finding, ...]:
        return check_bytes(text.encode("utf-8"), "a.show", self._read, _two_seconds).findings

    def _read(self, name: str) -> bytes:
        if self.folder is None:
            raise FileNotFoundError(name)
        return (self.folder / name).read_bytes()


def _two_seconds(file: str) -> ClipFile:
    return ClipFile(file, 2_000_000, 2_000_000)


def bases(rng: random.Random, generated: int) -> list[Base]:
    """The shows that come with the project, and as many generated ones; a third of those oddly laid out."""
    shipped = [Base(path.read_text("utf-8"), path.parent) for path in sorted(SHOWS.rglob("*.show"))
               if "broken" not in path.name and ".rig." not in path.name]
    return [*shipped, *(Base(random_show(rng, mess=n % 3 == 2)) for n in range(generated))]


def errors(findings: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in findings if finding.severity is Severity.ERROR]


@dataclass(slots=True)
class SlipCounts:
    """`found`: a finding that the show did not have before, on a right line; `broke`: the line does not parse."""

    tried: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    broke: int = 0
    broke_found: int = 0
    broke_tells: int = 0
    broke_mended: int = 0
    tells: int = 0
    mended: int = 0
    offered: int = 0
    offered_right: int = 0
    safe: int = 0
    safe_wrong: list[tuple[Slip, str]] = field(default_factory=list)
    missed: list[Slip] = field(default_factory=list)
    mismended: list[tuple[Slip, str, str]] = field(default_factory=list)


def measure_slips(rng: random.Random, shows: list[Base], count: int) -> SlipCounts:
    """Single-token slips in all shows: found on the right line, mended by the first mend offered."""
    counts = SlipCounts()
    usual = [{f.message for f in base.check(base.text)} for base in shows]
    while sum(counts.tried.values()) < count:
        index = rng.randrange(len(shows))
        made = slip(shows[index].text, rng)
        if made is not None:
            _count_slip(counts, shows[index], usual[index], made)
    return counts


def _count_slip(counts: SlipCounts, base: Base, usual: set[str], made: Slip) -> None:
    counts.tried[made.kind] += 1
    new = [f for f in base.check(made.text) if f.span.file == "a.show" and f.message not in usual]
    hits = [f for f in new if made.lines & set(range(f.span.line, f.span.end_line + 1))]
    counts.found[made.kind] += bool(hits)
    if not hits:
        counts.missed.append(made)
    broke = any(f.code.startswith("L") for f in read_document(made.text.encode(), "a.show").findings)
    counts.broke += broke
    counts.broke_found += broke and bool(hits)
    for finding in new:
        for mend in finding.mends:
            if mend.safe:
                counts.safe += 1
                if not same_words(apply(made.text, mend.edits), base.text):
                    counts.safe_wrong.append((made, mend.title))
    if hits:
        _count_mend(counts, base, made, hits, broke)


def _count_mend(counts: SlipCounts, base: Base, made: Slip, hits: list[Finding], broke: bool) -> None:
    first = next((f for f in hits if f.mends), None)
    right = first is not None and same_words(apply(made.text, first.mends[0].edits), base.text)
    counts.offered += first is not None
    counts.offered_right += right
    if made.tells:
        counts.tells += 1
        counts.mended += right
        counts.broke_tells += broke
        counts.broke_mended += broke and right
        if not right:
            counts.mismended.append((made, hits[0].message, first.mends[0].title if first else "-"))


@dataclass(slots=True)
class ManyCounts:
    broken: int = 0
    reported: int = 0
    findings: int = 0
    true: int = 0
    untrue: list[str] = field(default_factory=list)


def measure_many(rng: random.Random, shows: list[Base], files: int, lines: int = 20) -> ManyCounts:
    """Files with that many lines broken at once: how many are reported, how many reports are of a broken line."""
    counts = ManyCounts()
    long_ones = [base for base in shows if len(logical_lines(base.text)) > 3 * lines]
    for _ in range(files):
        base = rng.choice(long_ones)
        text, spoilt = _spoil(base.text, rng, lines)
        usual = {f.message for f in base.check(base.text)}
        found = [f for f in base.check(text) if f.span.file == "a.show" and f.message not in usual]
        places = [set(range(f.span.line, f.span.end_line + 1)) for f in found]
        counts.broken += len(spoilt)
        counts.reported += sum(any(right & place for place in places) for right in spoilt)
        counts.findings += len(found)
        every = frozenset().union(*spoilt)
        for finding, place in zip(found, places, strict=True):
            true = bool(place & every)
            counts.true += true
            if not true:
                counts.untrue.append(f"{finding.code} {finding.message}")
    return counts


def _spoil(text: str, rng: random.Random, lines: int) -> tuple[str, list[frozenset[int]]]:
    """Breaks the syntax of that many different logical lines."""
    spoilt: list[frozenset[int]] = []
    free = set(logical_lines(text))
    before = 0
    while len(spoilt) < lines:
        made = slip(text, rng, free)
        if made is None:
            continue
        broken = len([f for f in read_document(made.text.encode(), "a.show").findings if f.code.startswith("L")])
        here = logical_lines(text)[made.line]
        if broken > before:
            text, before = made.text, broken
            spoilt.append(made.lines | here)
            free -= here
        free &= set(logical_lines(text))
    return text, spoilt


def measure_totality(rng: random.Random, count: int, whole: bool) -> tuple[int, list[str]]:
    """Arbitrary texts and bytes; returns how many and those that raised or gave a place outside the file."""
    bad: list[str] = []
    seeds = [random_show(rng, mess=True) for _ in range(20)]
    for number in range(count):
        data = _arbitrary(rng, seeds, number % 4)
        try:
            findings = _check_data(data) if whole else read_document(data, "a.show").findings
            text = data.decode("utf-8", "replace")
            if not all(inside(finding, text) for finding in findings):
                bad.append(f"outside: {data!r}"[:300])
        except Exception as error:  # any at all is a fault, and all are counted
            bad.append(f"{type(error).__name__}: {data!r}"[:300])
    return count, bad


_WORDS = (
    'show "A"', "prop a:", "lamp b:", "scare c on d trips:", "1 s:", "on", "5", "%", ",", ":", "\n", "\n    ",
    "\t", '"',
    "#", "\r", "\r\n", "+", "then", "when", "repeat 3 times", "=", "let x = 1 s", "1/0", "\u00a0", "\u201c", "\u2028",
    "gesture g of x:", "never:", "at most 2 of", 'use "a.show"', "like b", "6:00 pm", "99:99", "night:", "of", "\x00",
)


def _arbitrary(rng: random.Random, seeds: list[str], kind: int) -> bytes:
    if kind == 0:
        return rng.randbytes(rng.randint(0, 40))
    if kind == 1:
        letters = (chr(rng.choice((rng.randint(0, 127), rng.randint(0, 0xD7FF)))) for _ in range(rng.randint(0, 40)))
        return "".join(letters).encode()
    if kind == 2:
        return " ".join(rng.choice(_WORDS) for _ in range(rng.randint(1, 16))).encode()
    text = rng.choice(seeds)
    begin = rng.randrange(len(text))
    cut = bytearray(text[begin : begin + rng.randint(1, 120)].encode())
    for _ in range(rng.randint(0, 3)):
        cut[rng.randrange(len(cut))] = rng.randrange(256)
    return bytes(cut)


def measure_formatter(rng: random.Random, count: int) -> tuple[int, list[str]]:
    """Random shows, formatted: stable, the same show, every comment there, line ends as they were."""
    bad: list[str] = []
    for _ in range(count):
        text = random_show(rng, mess=True)
        styled = format_source(text)
        if format_source(styled) != styled:
            bad.append("not stable")
        if not same_show(text, styled):
            bad.append("another show")
        if _comments(text) != _comments(styled):
            bad.append("a comment lost")
        if not set(re.findall(r"\r\n|\n|\r", styled)) <= set(re.findall(r"\r\n|\n|\r", text)):
            bad.append("other line ends")
    return count, bad


def _comments(text: str) -> list[str]:
    parts = (line[len(strip_comment(line)) :].rstrip() for line in physical(text)[::2])
    return [comment for comment in parts if comment]


def show_of(lines: int, rng: random.Random, moves: bool = True) -> str:
    """One valid show of about that many lines: a generated one with scares of its own kind again and again.

    Without `moves` it has no cylinder, so that no stroke has to be worked out.
    """
    text = random_show(rng, sound=False, moves=moves).replace("is avr2560", "is host")
    more = 0
    while text.count("\n") < lines:
        more += 1
        cues = (f"    {second} s: house {'on' if second % 2 else 'off'}\n" for second in range(1, 20))
        text += f"scare filler{more}:\n{''.join(cues)}"
    return text


def measure_false_alarms(rng: random.Random, count: int) -> Counter[str]:
    """Errors on valid shows, by code; none is due. Warnings are opinions, and counted apart by their severity."""
    found: Counter[str] = Counter()
    for base in bases(rng, count):
        for finding in base.check(base.text):
            found[f"{finding.severity.value} {finding.code}"] += 1
    return found


@dataclass(frozen=True, slots=True)
class Took:
    """Medians in milliseconds: by the clock on the wall, and of the processor alone."""

    wall: float
    processor: float


@dataclass(frozen=True, slots=True)
class Cold:
    """A check in a process of its own, and beside it one that only loads lark and pydantic, run in turn with it."""

    check: Took
    libraries: Took


def cold_check_ms(path: Path, runs: int) -> Cold:
    """Whole processes, imports and all. On a machine that does other things as well the processor's time tells more."""
    checks, libraries = [], []
    for _ in range(runs):
        checks.append(_process_ms("-m", "sequencer", "check", str(path)))
        libraries.append(_process_ms("-c", "import lark, pydantic"))
    return Cold(_median(checks), _median(libraries))


def _process_ms(*arguments: str) -> Took:
    begin, used = time.perf_counter(), _of_children_s()
    subprocess.run([sys.executable, *arguments], capture_output=True, check=False, cwd=SHOWS.parent)
    return Took((time.perf_counter() - begin) * 1000, (_of_children_s() - used) * 1000)


def _median(of: list[Took]) -> Took:
    return Took(statistics.median(one.wall for one in of), statistics.median(one.processor for one in of))


def _of_children_s() -> float:
    spent = os.times()
    return spent.children_user + spent.children_system


def edits_of(text: str, rng: random.Random) -> Iterator[str]:
    """The show with one digit changed, somewhere else each time."""
    places = [m.start() for m in re.finditer(r"\d(?= s: house)", text)]
    while True:
        place = rng.choice(places)
        yield text[:place] + str((int(text[place]) + 1) % 10) + text[place + 1 :]


def kinds_in_order(counts: SlipCounts) -> list[str]:
    return [f"{kind} {counts.found[kind]}/{counts.tried[kind]}" for kind in KINDS]


def _check_data(data: bytes) -> tuple[Finding, ...]:
    return check_bytes(data, "a.show", Base("")._read, _two_seconds).findings


def recheck_ms(text: str, rng: random.Random, runs: int) -> str:
    """The median of checking the show again with one digit changed, by what an editor keeps between checks."""
    memo = Memo()
    check_again = partial(check_bytes, name="a.show", read_file=Base("")._read, sound_length=_two_seconds, memo=memo)
    times = []
    for _, changed in zip(range(runs + 1), edits_of(text, rng), strict=False):
        begin, used = time.perf_counter(), time.process_time()
        check_again(changed.encode())
        times.append(((time.perf_counter() - begin) * 1000, (time.process_time() - used) * 1000))
    walls, processors = zip(*times[1:], strict=True)
    return (f"median {statistics.median(walls):.0f} ms; processor {statistics.median(processors):.0f} ms (the first, "
            f"with an empty memory, {times[0][1]:.0f} ms)")
