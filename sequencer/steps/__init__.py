"""Board programs: their values, their bytes, their listing, and the rules that run them.

Independent of the rest of the tree; the board's C follows the same table, layout and rules.
"""

from __future__ import annotations

from sequencer.steps.decode import BadProgram, decode
from sequencer.steps.encode import CannotEncode, encode
from sequencer.steps.events import (
    Cause,
    ClipEnded,
    ClipSilenced,
    ClipStarted,
    Ended,
    Event,
    Fault,
    FaultCode,
    InputChanged,
    Killed,
    Mode,
    ModeChanged,
    OutputEdge,
    Skipped,
    SkipReason,
    Started,
)
from sequencer.steps.program import (
    Clip,
    Edge,
    Input,
    InputKind,
    Limits,
    Output,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
)
from sequencer.steps.rules import Machine
from sequencer.steps.table import drives, step
from sequencer.steps.verify import Problem, running_at_once, verify

__all__ = [
    "BadProgram", "CannotEncode", "Cause", "Clip", "ClipEnded", "ClipSilenced", "ClipStarted", "Edge", "Ended",
    "Event", "Fault", "FaultCode", "Input", "InputChanged", "InputKind", "Killed", "Limits", "Machine", "Mode",
    "ModeChanged", "Output", "OutputEdge", "Problem", "Program", "Routine", "SkipReason", "Skipped", "Start",
    "Started", "Step", "WhileRunning", "decode", "drives", "encode", "running_at_once", "step", "verify",
]
