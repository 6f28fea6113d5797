"""The checked show -> its plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sequencer.air.stroke import Stroke, StrokeRequest
from sequencer.findings import Finding
from sequencer.schedule.plan import Plan
from sequencer.show.model import Show

Strokes = Callable[[StrokeRequest], Stroke]


def plan_show(
    show: Show, strokes: Strokes, clip_us: Mapping[tuple[str, str], int]
) -> tuple[Plan, tuple[Finding, ...]]:
    """The times of every routine, and what cannot be done in time.

    `strokes` answers how long a motion takes; `clip_us` gives lengths of clips by (speaker, clip), a clip that is
    missing there counts as no time at all. The plan is whole even where there are findings: what comes too early
    is then taken as soon as it can be.
    """
    raise NotImplementedError
