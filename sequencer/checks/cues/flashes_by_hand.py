"""A lamp that cue lines switch on more than three times in a second."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.moments import grouped, on_path
from sequencer.checks.rig.flashes_too_fast import (
    BRIGHT,
    MOST_A_SECOND,
    SECOND_US,
    SEEN_CHANGE,
    sentence,
)
from sequencer.checks.rig.flashes_too_fast import RULE as FLASHES
from sequencer.checks.saying import bodies_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.drive import Fade, Pulse, SetLevel
from sequencer.rig.lamp import Lamp
from sequencer.schedule.plan import Moment, PlannedRoutine
from sequencer.show import Cue, Repeat

ROUNDS = MOST_A_SECOND + 1
"""So many rounds of a repeat, or of an idle, show whether it is too fast."""
SLACK = 1.01
"""The board counts whole milliseconds, so 3 Hz can come out a hair faster."""

Rise = tuple[int, Moment]
"""When a lamp goes up, and by which line."""

_FAST = changed(LAMP, ("    0 s: eyes on\n    2 s: eyes off\n",
                       "    0 s: repeat 8 times every 120 ms:\n        0 s: eyes on\n        60 ms: eyes off\n"))

RULE = Rule(
    "T011", "lines that make a lamp flash faster than three times a second",
    "A strobe written by hand is a strobe. " + FLASHES.why, failing=_FAST, mended=changed(_FAST, ("120 ms", "400 ms")),
    severity=Severity.WARNING, source=FLASHES.source,
)
NEEDS = ("plan",)


def find_in(yard: Yard, planned: PlannedRoutine) -> Iterator[Finding]:
    rounds = _rounds(planned.routine.cues)

    def lamp(moment: Moment) -> Iterator[tuple[str, tuple[str, ...]]]:
        placed = yard.parts.get(moment.action.who)
        if placed is not None and isinstance(placed.part, Lamp):
            yield moment.action.who, moment.path

    for (who, _), moments in grouped(planned, lamp).items():
        rises = sorted(_rises(moments, rounds), key=lambda rise: rise[0])
        for (begin, _), (end, moment) in zip(rises, rises[MOST_A_SECOND:], strict=False):
            rate = MOST_A_SECOND * SECOND_US / max(end - begin, 1)
            if rate > SLACK * MOST_A_SECOND:
                yield RULE.at(moment.span, sentence(yard.parts, who, rate, on_path(moment)))
                break


def _rises(moments: Sequence[Moment], rounds: Mapping[int, int]) -> Iterator[Rise]:
    """Each time the lamp goes up so much that it is seen, with the rounds that repeat it."""
    level = 0.0
    second = {}
    for moment in moments:
        if moment.again:
            second.setdefault(id(moment.action), moment.earliest_us)
    for moment in sorted((one for one in moments if not one.again), key=lambda one: one.earliest_us):
        up, after = _levels(moment)
        if up - level >= SEEN_CHANGE and level < BRIGHT:
            period = second.get(id(moment.action), 0) - moment.earliest_us
            count = min(rounds.get(id(moment.cue), ROUNDS), ROUNDS) if period > 0 else 1
            yield from ((moment.earliest_us + number * period, moment) for number in range(count))
        level = after


def _levels(moment: Moment) -> tuple[float, float]:
    """How bright a drive makes the lamp, and how bright it leaves it."""
    match moment.drive:
        case SetLevel(level=level) | Fade(level=level):
            return level, level
        case Pulse():
            return 1.0, 0.0
    return 0.0, 0.0


def _rounds(cues: Sequence[Cue], around: int | None = None) -> dict[int, int]:
    """How often each line runs in the innermost repeat around it, by the identity of the line."""
    found: dict[int, int] = {}
    for cue in cues:
        if around is not None:
            found[id(cue)] = around
        here = around
        if isinstance(cue.block, Repeat):
            here = cue.block.times or ROUNDS
            if cue.block.times is None and cue.block.every_us:
                here = -(-(cue.block.for_us or cue.block.bound_us or 0) // cue.block.every_us)
        for body in bodies_of(cue):
            found.update(_rounds(body, here))
    return found
