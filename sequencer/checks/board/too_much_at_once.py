"""More steps in one millisecond than the board takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from sequencer.checks.examples import BOARD
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule
from sequencer.steps import Step
from sequencer.steps.table import WAITS

_LAMPS = BOARD + "".join(f"lamp l{n}: on box {'pwm' if n < 6 else 'out'}{n % 6}\n" for n in range(12))
_ON = [f"l{n} on" for n in range(12)]
_HEAD = "scare blaze every 1 min to 2 min:\n"

RULE = Rule(
    "B004", "too much in one moment",
    "In every millisecond the board takes a few steps of each scare, so that all outputs are on time. What is "
    "written at one time beyond that must be spread over a few milliseconds, which nobody can see.",
    failing=_LAMPS + _HEAD + f"    0 s: {', '.join(_ON)}\n    2 s: l0 off\n",
    mended=_LAMPS + _HEAD + f"    0 s: {', '.join(_ON[:6])}\n    +2 ms: {', '.join(_ON[6:])}\n    2 s: l0 off\n",
    source="the profiles of the boards, sequencer/board/profiles; cycles measured in the simulator, cycles.py there",
)
NEEDS = ("compiled", "profile")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.compiled is not None and facts.profile is not None and facts.plan is not None
    if not facts.compiled.findings:
        return  # the compiler has asked the board's own rules, and following every path anew takes its time
    most = facts.profile.limits.steps_per_tick
    for number, made in enumerate(facts.compiled.program.routines):
        flow = facts.flow(made)
        if flow.flaws or flow.most_steps_in_a_tick <= most:
            continue
        routine = facts.plan.routines[number].routine
        sources = [source.span for source in facts.compiled.sources[number]]
        begin, end = _longest_run(made.steps)
        busiest = Counter(sources[begin:end]).most_common(1)[0][0]
        message = (f"In {routine.word} `{routine.name}` {flow.most_steps_in_a_tick} steps can fall into one "
                   f"millisecond, and {facts.profile.name} takes {most}; put some of them on a line of their own at "
                   "`+2 ms`.")
        yield RULE.at(busiest, message)


def _longest_run(steps: Sequence[Step]) -> tuple[int, int]:
    """The first and the last step (and one) of the longest stretch without a wait, which is where to look first."""
    best, begin = (0, 1), 0
    for index, made in enumerate(steps):
        if made.op in WAITS or made.op == "end":
            begin = index + 1
        elif index + 1 - begin > best[1] - best[0]:
            best = (begin, index + 1)
    return best
