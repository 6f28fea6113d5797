"""Board programs: their values, their bytes, their listing, and the rules that run them.

Independent of the rest of the tree; the board's C follows the same table (table.py), layout (LAYOUT.md) and
rules (RULES.md). The machine and its events are loaded when first asked for, so that a compiler starts fast.
"""

from __future__ import annotations

import importlib

from sequencer.steps.decode import BadProgram, decode
from sequencer.steps.encode import CannotEncode, encode
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
from sequencer.steps.table import drives, step
from sequencer.steps.verify import Problem, running_at_once, verify

TYPE_CHECKING = False
"""As in the module typing, which takes 6 ms to load and is not needed otherwise."""

if TYPE_CHECKING:
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
    from sequencer.steps.rules import Machine

__all__ = [
    "BadProgram",
    "CannotEncode",
    "Cause",
    "Clip",
    "ClipEnded",
    "ClipSilenced",
    "ClipStarted",
    "Edge",
    "Ended",
    "Event",
    "Fault",
    "FaultCode",
    "Input",
    "InputChanged",
    "InputKind",
    "Killed",
    "Limits",
    "Machine",
    "Mode",
    "ModeChanged",
    "Output",
    "OutputEdge",
    "Problem",
    "Program",
    "Routine",
    "SkipReason",
    "Skipped",
    "Start",
    "Started",
    "Step",
    "WhileRunning",
    "decode",
    "drives",
    "encode",
    "running_at_once",
    "step",
    "verify",
]


def __getattr__(name: str) -> object:
    """Machine and events, from their modules."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    home = "sequencer.steps.rules" if name == "Machine" else "sequencer.steps.events"
    return getattr(importlib.import_module(home), name)
