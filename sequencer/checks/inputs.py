"""A show -> which of its inputs stop the board: those of that kind, and those that `stop` and `alarm` name."""

from __future__ import annotations

from sequencer.rig.sensor import Sensor
from sequencer.show import Show


def ending_edges(show: Show) -> dict[str, tuple[str, bool]]:
    """By the name of the sensor `stop` or `alarm`, and whether it acts when the sensor trips or when it clears."""
    found = {placed.part.name: (placed.part.role, True) for placed in show.of_kind("sensor")
             if isinstance(placed.part, Sensor) and placed.part.role != "trigger"}
    return {**found, **{edge.sensor: (safe.word, edge.trips) for safe in show.safes for edge in safe.edges}}


def ending_inputs(show: Show) -> dict[str, str]:
    """`stop` or `alarm` by the name of the sensor."""
    return {name: word for name, (word, _) in ending_edges(show).items()}
