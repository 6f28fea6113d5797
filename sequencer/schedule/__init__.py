"""The checked show -> when everything happens -> the board's step tables."""

from __future__ import annotations

from sequencer.schedule.compile import Compiled, StepSource, compile_plan
from sequencer.schedule.plan import Line, Moment, Plan, PlannedRoutine, Travel
from sequencer.schedule.planner import plan_show

__all__ = [
    "Compiled", "Line", "Moment", "Plan", "PlannedRoutine", "StepSource", "Travel", "compile_plan", "plan_show",
]
