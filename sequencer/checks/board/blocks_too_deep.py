"""Blocks within blocks deeper than the board follows."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Label, Rule


def _nested(depth: int) -> str:
    lines = "".join(f"{'    ' * (n + 1)}0 s: repeat 2 times:\n" for n in range(depth))
    deep = "    " * (depth + 1)
    return changed(LAMP, ("    0 s: eyes on\n    2 s: eyes off\n",
                          f"{lines}{deep}0 s: eyes on\n{deep}+400 ms: eyes off\n{deep}+400 ms: eyes off\n"))


RULE = Rule(
    "B003", "blocks too deep for the board",
    "For every repeat that is open the board keeps a count and a time, and it has room for few. A gesture counts as "
    "well where its lines hold a repeat.",
    failing=_nested(5), mended=_nested(3), source="the profiles of the boards, sequencer/board/profiles",
)
NEEDS = ("compiled", "profile")


def find(facts: Facts) -> Iterator[Finding]:
    assert facts.compiled is not None and facts.profile is not None and facts.plan is not None
    if not facts.compiled.findings:
        return  # the compiler has asked the board's own rules, and following every path anew takes its time
    most = facts.profile.limits.frames
    for number, made in enumerate(facts.compiled.program.routines):
        flow = facts.flow(made)
        if flow.flaws or flow.depth <= most:
            continue
        routine = facts.plan.routines[number].routine
        deepest = max(range(len(flow.steps)), key=lambda i: flow.steps[i].depth)
        message = (f"In {routine.word} `{routine.name}` blocks stand {flow.depth} deep in one another, and "
                   f"{facts.profile.name} follows {most}.")
        yield RULE.at(facts.compiled.sources[number][deepest].span, message,
                      labels=(Label(routine.span, f"this {routine.word}"),))
