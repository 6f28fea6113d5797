"""More scares and idles than the board has rows for."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.board.profiles import PROFILES
from sequencer.checks.examples import LAMP
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule

_MANY = "".join(f"scare wink_{n} every {n + 1} min to {n + 2} min:\n    0 s: eyes flashes 2 Hz for 1 s\n"
                for n in range(24))

RULE = Rule(
    "B002", "too many scares and idles",
    "The board keeps a row in its memory for every scare and idle, whether it runs or not.",
    failing=LAMP + _MANY, mended=LAMP, source="the profiles of the boards, sequencer/board/profiles",
)
NEEDS = ("compiled", "profile")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.profile is not None
    routines, most = facts.show.routines, facts.profile.limits.routines
    if len(routines) > most:
        larger = [f"{one.name} takes {one.limits.routines}" for one in PROFILES
                  if one.limits.routines >= len(routines) and one.write_ms_per_byte]
        message = (f"The show has {len(routines)} scares and idles, and {facts.profile.name} takes {most}"
                   f"{f'; {larger[0]}' if larger else ''}.")
        yield RULE.at(routines[most].span, message)
