"""A rope that goes slack, because its piece cannot fall as fast as the rod lets it, or is thrown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sequencer.air.from_rig import Toward
from sequencer.air.stroke import Stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import Moved, moved, say_rounded, say_speed, way_word
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity

if TYPE_CHECKING:
    from sequencer.air.slack import Slack

ROPE = """    lamp eyes: on box pwm0
    rope sling on ram: carries 5 lb, length 6 ft, pulls while extending
"""
HELD = (", measured out 0.4 s, back 0.6 s", ", moves 2 lb, cushioned{}")
RULE = Rule(
    "A011", "a rope that goes slack",
    "A rope only pulls. Where the rod lets it out faster than the piece on it falls, or stops while the piece still "
    "flies up, the rope hangs and then catches the piece with a jerk. The times of the rod hold; the dry run follows "
    "the rope and not the piece, and nothing here reckons the jerk.",
    failing=changed(LUNGE, (HELD[0], HELD[1].format("")), ("    lamp eyes: on box pwm0\n", ROPE)),
    mended=changed(LUNGE, (HELD[0], HELD[1].format(", needle out 20 %, needle back 20 %")),
                   ("    lamp eyes: on box pwm0\n", ROPE)),
    severity=Severity.NOTE, source="free fall, beside the motion of the rod reckoned from its air",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    roped = frozenset(placed.part.cylinder for placed in yard.of_kind("rope"))
    for one in moved(yard, roped):
        for toward, stroke in one.strokes.items():
            for name, slack in _slack(stroke):
                yield RULE.at(yard.parts[name].span, _sentence(one, toward, name, slack))


def _slack(stroke: Stroke) -> Iterator[tuple[str, Slack]]:
    """The worst slack of each rope on a stroke."""
    # Loaded here: most shows have no rope.
    from sequencer.air.mechanism.mechanism import Mechanism
    from sequencer.air.mechanism.rope import RopeLift
    from sequencer.air.slack import slack_of

    drives = stroke.trace.cylinder.drives
    if not isinstance(drives, Mechanism):
        return
    for piece, name in zip(drives.pieces, drives.names, strict=True):
        if isinstance(piece, RopeLift):
            samples = [(t, x, v) for t, x, v, *_ in stroke.trace.run.samples if t >= stroke.told_s]
            found = slack_of(piece, samples)
            if found:
                yield name, max(found, key=lambda slack: slack.gap_m)


def _sentence(one: Moved, toward: Toward, name: str, slack: Slack) -> str:
    told = slack.at_s - one.strokes[toward].told_s
    gap = say_rounded(slack.gap_m, one.part.stroke.unit)
    return (f"`{name}` goes slack on the way {way_word(toward)} of `{one.part.name}`, {told:.2f} s after the command "
            f"and for {slack.lasts_s:.2f} s: its piece is up to {gap} above it and meets it, or its stop, at "
            f"{say_speed(slack.meets_m_s, one.part.bore)}; slow that way with a needle.")
