"""A cylinder that meets its end harder than an uncushioned one is made for."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.from_rig import Toward
from sequencer.air.stops import stop_energy_j
from sequencer.air.stroke import Stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.saying import listed
from sequencer.checks.strokes import Moved, moved, say_energy, say_speed, way_word
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity

RULE = Rule(
    "A004", "an end that is hit too hard",
    "What moves carries energy, and at the end of the stroke the cylinder takes it all. Without cushions it is only "
    "made for a little; beyond that the end cap works loose, the rod end cracks, and it does so on a busy night.",
    failing=changed(LUNGE, (", measured out 0.4 s, back 0.6 s", ", moves 10 lb, measured out 0.3 s, back 0.6 s")),
    mended=changed(LUNGE, (", measured out 0.4 s, back 0.6 s", ", moves 10 lb, cushioned, measured out 0.8 s, "
                           "back 0.8 s")),
    severity=Severity.WARNING, source="energies that elastic bumpers of ISO 6432 and ISO 15552 cylinders are given "
    "for, from memory; makers differ by a factor of two",
)
SPREAD = 2.0
"""So much do makers differ: up to there it is only noted."""


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        limit = stop_energy_j(one.part.bore.si)
        hard = {toward: stroke for toward, stroke in one.strokes.items() if stroke.end_energy_j > limit}
        if hard and not one.part.cushioned:
            most = max(stroke.end_energy_j for stroke in hard.values())
            severity = Severity.WARNING if most > SPREAD * limit else Severity.NOTE
            yield RULE.at(one.placed.span, _sentence(one, hard, limit), severity=severity)


def _sentence(one: Moved, hard: dict[Toward, Stroke], limit: float) -> str:
    ends = [f"{way_word(toward)} at {say_speed(stroke.end_speed_m_s, one.part.bore)} with "
            f"{say_energy(stroke.end_energy_j)}" for toward, stroke in hard.items()]
    needles = [f"`needle {way_word(toward)}`" for toward in hard]
    return (f"`{one.part.name}` ends its way {listed(ends)}, and an uncushioned bore of {one.part.bore} is made for "
            f"about {say_energy(limit)}; close its {listed(needles)}, take a cushioned cylinder, or let a stop outside "
            "take it.")
