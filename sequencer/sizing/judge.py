"""Strokes -> what a builder should know of them: values beside the limits they pass, for a page to word.

Quiet where nothing is the matter. Whether people can reach the prop is never supposed: unsaid asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from sequencer.air.force import LOAD_RATIO_MOVING, buckling_load_n
from sequencer.air.from_rig import Toward
from sequencer.air.stops import CONTACT_ENERGY_J, CONTACT_FORCE_N, stop_energy_j
from sequencer.sizing.given import Given
from sequencer.sizing.strokes import Stroke, Strokes

Kind = Literal["never moves", "never arrives", "little margin", "pilot starved", "rod buckles", "end too hard",
               "closes too hard", "hits too hard", "slips", "turns back", "fast", "slow"]
BUCKLING_SAFETY = 3.5
"""A push is to stay so many times below the load at which the rod buckles: 3.5 to 5 in handbooks."""
SLENDER = 25.0
"""A rod shorter than so many diameters, free length doubled, yields before it buckles; Euler says nothing of it."""
USUAL_SPEED_M_S = 0.05, 1.0
"""Speeds that cylinders are made for, up to the hardest; from memory (catalogues: 50 to 500, at most 1000 mm/s)."""
CONTACT: tuple[Kind, ...] = ("closes too hard", "hits too hard")
"""What is about people in reach, to whom the caution `reach` belongs."""


@dataclass(frozen=True, slots=True)
class Remark:
    """A value (SI) beside the limit it passes. `toward` None: both ways, or the prop as a whole."""

    kind: Kind
    toward: Toward | None
    value: float
    limit: float


def remarks(found: Strokes) -> tuple[Remark, ...]:
    """What there is to say, the gravest first."""
    said = found.given
    whole: list[Remark] = []
    if said.valve.pilot is not None and said.valve.pilot.si > said.regulator.si:
        whole.append(Remark("pilot starved", None, said.regulator.si, said.valve.pilot.si))
    each = [remark for stroke in found.both for remark in _of_motion(stroke, said)]
    return (*whole, *each, *_contact(found))


def _of_motion(stroke: Stroke, said: Given) -> Iterator[Remark]:
    toward = stroke.toward
    if stroke.lead_s is None:
        yield Remark("never moves", toward, stroke.force.load_n + stroke.force.friction_n, stroke.force.push_n)
        return
    if stroke.arrives_s is None:
        yield Remark("never arrives", toward, stroke.reached_m, said.cylinder.stroke.si)
        return
    if stroke.force.margin < 1 - LOAD_RATIO_MOVING:
        yield Remark("little margin", toward, stroke.force.margin, 1 - LOAD_RATIO_MOVING)
    yield from _rod(stroke, said)
    if stroke.end_energy_j is not None and stroke.end_energy_j > stop_energy_j(said.cylinder.bore.si):
        yield Remark("end too hard", toward, stroke.end_energy_j, stop_energy_j(said.cylinder.bore.si))
    if "stick-slip" in stroke.flags:
        yield Remark("slips", toward, float(stroke.trace.hops), 0.0)
    if stroke.trace.reversals_m:
        yield Remark("turns back", toward, stroke.trace.reversals_m[0], 0.0)
    speed = said.cylinder.stroke.si / (stroke.travel_s or 1.0)
    low, high = USUAL_SPEED_M_S
    if speed < low:
        yield Remark("slow", toward, speed, low)
    elif stroke.trace.fastest_m_s > high:
        yield Remark("fast", toward, stroke.trace.fastest_m_s, high)


def _rod(stroke: Stroke, said: Given) -> Iterator[Remark]:
    rod, free = said.cylinder.rod.si, said.cylinder.stroke.si
    if stroke.toward == "out" and 2 * free > SLENDER * rod:
        bears = buckling_load_n(rod, free) / BUCKLING_SAFETY
        if stroke.force.push_n > bears:
            yield Remark("rod buckles", "out", stroke.force.push_n, bears)


def _contact(found: Strokes) -> Iterator[Remark]:
    """The hardest of both ways, unless nobody can reach the prop."""
    if found.given.reach in ("none", "fenced"):
        return
    push = max(stroke.force.push_n for stroke in found.both)
    energy = max((stroke.end_energy_j or 0.0) for stroke in found.both)
    if push > CONTACT_FORCE_N[0]:
        yield Remark("closes too hard", None, push, CONTACT_FORCE_N[0])
    if energy > CONTACT_ENERGY_J[0]:
        yield Remark("hits too hard", None, energy, CONTACT_ENERGY_J[0])
