"""The checked show as plain values: names resolved, times in microseconds, every action known to its part."""

from sequencer.show.model import (
    Action,
    After,
    Arm,
    At,
    AtMost,
    Block,
    Branch,
    Cue,
    EndOfMotion,
    IfSensor,
    NeverSooner,
    NeverWhile,
    Night,
    NthRun,
    PickOne,
    Placed,
    Repeat,
    Routine,
    Safe,
    SensorEdge,
    Show,
    When,
    WhenSensor,
    parts_of_kind,
)

__all__ = [
    "Action", "After", "Arm", "At", "AtMost", "Block", "Branch", "Cue", "EndOfMotion", "IfSensor", "NeverSooner",
    "NeverWhile", "Night", "NthRun", "PickOne", "Placed", "Repeat", "Routine", "Safe", "SensorEdge", "Show",
    "When", "WhenSensor", "parts_of_kind",
]
