"""A cylinder that arrives with little of its push to spare."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.force import LOAD_RATIO_MOVING, LOAD_RATIO_STILL
from sequencer.air.from_rig import Toward
from sequencer.checks.air.never_arrives import UNTIMED, forces, mends
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import Moved, moved, way_word
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity

RULE = Rule(
    "A002", "little force to spare",
    "It arrives by the reckoning, but a dry seal, a cold night, a little less pressure or a heavier costume stops it. "
    "A load that is only held may take 70 % of the theoretical force, one that is moved half of it.",
    failing=changed(LUNGE, UNTIMED, ("stroke 12 in", "stroke 12 in, moves 80 lb, lifts 90 deg")),
    mended=changed(LUNGE, UNTIMED, ("stroke 12 in", "stroke 12 in, moves 20 lb, lifts 90 deg")),
    severity=Severity.WARNING, source="SMC, Air Cylinders Model Selection, 6-2-1: load factors for static and dynamic "
    "work",
)
WARNED, NOTED = 1 - LOAD_RATIO_STILL, 1 - LOAD_RATIO_MOVING


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        for toward, stroke in one.strokes.items():
            margin = one.margin(toward)
            if stroke.arrives and margin.area_m2 > 0 and margin.share < NOTED:
                severity = Severity.WARNING if margin.share < WARNED else Severity.NOTE
                yield RULE.at(one.placed.span, _sentence(one, toward), severity=severity)


def _sentence(one: Moved, toward: Toward) -> str:
    share = one.margin(toward).share
    left = f"{100 * share:.0f} % of its push to spare" if share > 0 else "nothing to spare, only its swing"
    return (f"`{one.part.name}` goes {way_word(toward)} with {left}: {forces(one, toward)}; "
            f"{mends(one, toward, NOTED)}.")
