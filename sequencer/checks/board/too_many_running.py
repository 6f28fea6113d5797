"""More scares and idles that can run at the same time than the board runs."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.board.profiles import PROFILES
from sequencer.checks.examples import BOARD
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity
from sequencer.steps import running_at_once


def _idles(count: int) -> str:
    lamps = "".join(f"lamp l{n}: on box {'pwm' if n < 6 else 'out'}{n % 6}\n" for n in range(count))
    idles = "".join(f"idle i{n}:\n    0 s: l{n} on\n    {n + 1} s: l{n} off\n    {n + 2} s: l{n} off\n"
                    for n in range(count))
    return BOARD + lamps + idles


RULE = Rule(
    "B005", "more at the same time than the board runs",
    "A board runs a few scares and idles side by side. A start that finds no room is lost, and the log of the board "
    "says so.",
    failing=_idles(9), mended=_idles(8), severity=Severity.WARNING,
    source="the profiles of the boards, sequencer/board/profiles",
)
NEEDS = ("compiled", "profile")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.compiled is not None and facts.profile is not None
    most, can = facts.profile.limits.routines_running, running_at_once(facts.compiled.program)
    if can > most:
        larger = [f"{one.name} runs {one.limits.routines_running}" for one in PROFILES
                  if one.limits.routines_running >= can and one.write_ms_per_byte]
        message = (f"{can} scares and idles can run at the same time, and {facts.profile.name} runs {most}"
                   f"{f'; {larger[0]}' if larger else ''}. A start beyond that is lost.")
        yield RULE.at(facts.show.of_kind("board")[0].span, message)
