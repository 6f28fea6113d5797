"""More scares that one moment starts than a board can begin in a millisecond."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule, Severity
from sequencer.steps import Edge

_HEAD = 'show "Marrow Lane"\nboard box like avr2560\nsensor step like mat: on box in0\n'
_LAMPS = "".join(f"lamp l{n}: on box {'pwm' if n < 12 else 'out'}{n % 12}\n" for n in range(16))
_SCARES = "".join(f"scare s{n} on step trips:\n    0 s: l{n} on\n    2 s: l{n} off\n" for n in range(16))
_ONE = "scare all on step trips:\n" + "".join(
    f"    {2 * n} ms: l{4 * n} on, l{4 * n + 1} on, l{4 * n + 2} on, l{4 * n + 3} on\n" for n in range(4)
) + "    2 s: l0 off\n"

RULE = Rule(
    "B006", "more starts in one moment than fit a millisecond",
    "What one sensor starts begins in one and the same millisecond. Where that takes the board longer, all outputs of "
    "that moment are late by what it takes too long. Scares that always start together can be one scare.",
    failing=_HEAD + _LAMPS + _SCARES, mended=_HEAD + _LAMPS + _ONE, severity=Severity.WARNING,
    source="cycles measured on the firmware in the simulator, sequencer/board/profiles/cycles.py",
)
NEEDS = ("compiled", "profile")
_FEW = 4


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.compiled is not None and facts.profile is not None and facts.plan is not None
    program = facts.compiled.program
    if not _many_on_one(facts) or facts.compiled.findings or facts.profile.costs is None:
        return  # the cycles of every step are not reckoned where they cannot be too many
    from sequencer.steps.cycles import started_together

    for one in started_together(program, facts.profile.limits, facts.profile.costs, facts.memo):
        if one.bound.cycles <= one.bound.per_tick or len(one.routines) <= _FEW:
            continue
        late_ms = one.bound.cycles / one.bound.per_tick - 1
        sensor = facts.compiled.names.inputs[one.start.input]
        moment = f"`{sensor}` {'trips' if one.start.edge is Edge.TRIPS else 'clears'}"
        message = (f"{len(one.routines)} scares start when {moment}, which takes {facts.profile.name} up to "
                   f"{one.bound.cycles:,} of the {one.bound.per_tick:,} cycles of a millisecond: what moves then is up "
                   f"to {late_ms:.1f} ms late. Make one scare of several.")
        yield RULE.at(facts.plan.routines[one.routines[_FEW]].routine.span, message)


def _many_on_one(facts: Facts) -> bool:
    assert facts.compiled is not None
    starts = [start for row in facts.compiled.program.routines for start in set(row.starts)]
    return any(starts.count(start) > _FEW for start in set(starts))
