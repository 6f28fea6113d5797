"""A stroke -> how soon it would arrive with its needle fully open: what the parts can make, and what only a screw holds
back."""

from __future__ import annotations

from dataclasses import replace

from sequencer.air.from_rig import cylinder_air, move_whole
from sequencer.air.motion import MANY_HOPS
from sequencer.air.stroke import LONGEST_S, TO_END, Stroke


def opened_us(stroke: Stroke) -> int | None:
    """A whole stroke from rest with the needle of that way fully open, in us from the command; None where its builder
    names no needle, where that is open already, or where it does not arrive even so."""
    name = "needle_out" if stroke.toward == "out" else "needle_back"
    unknowns = stroke.calibration.unknowns
    if getattr(stroke.described.cylinder, name) is None or getattr(unknowns, name) >= 1.0:
        return None
    open_ = replace(unknowns, **{name: 1.0})
    cylinder = cylinder_air(stroke.described, open_, stroke.toward)
    trace = move_whole(cylinder, stroke.described.valve, stroke.toward, LONGEST_S, stroke.toward)
    arrival = None if trace.hops > MANY_HOPS else trace.arrival_s(*TO_END[stroke.toward])
    return None if arrival is None else round(arrival * 1e3) * 1000
