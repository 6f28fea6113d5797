"""What a show says of mufflers, quick exhausts and regulators -> how freely they pass air; where it says nothing, as is
usual (`parts`)."""

from __future__ import annotations

from typing import Literal

from sequencer.air.flow import Flow
from sequencer.air.parts import MUFFLER, QUICK_EXHAUST, REGULATOR, exhaust_past_quick_exhaust, muffler_flow
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.manifold import Manifold
from sequencer.rig.valve import Valve


def muffler_on(valve: Valve) -> Flow | None:
    """What is screwed into the exhaust of a valve; None: nothing."""
    if valve.muffler == "none":
        return None
    clean = MUFFLER if valve.muffler_flow is None else Flow(valve.muffler_flow.si, MUFFLER.b)
    return muffler_flow(clean, clogged=valve.muffler == "clogged")


def quick_exhaust_of(cylinder: Cylinder, way: Literal["out", "back"]) -> Flow | None:
    """What lets the air out at the port that empties on that way; None where tube and valve do."""
    if not (cylinder.quick_out if way == "out" else cylinder.quick_back):
        return None
    printed = cylinder.quick_flow
    return exhaust_past_quick_exhaust() if printed is None else Flow(printed.si, QUICK_EXHAUST.b)


def regulator_on(manifold: Manifold) -> Flow:
    """Its regulator wide open, as a conductance, by its nominal flow, or as is usual."""
    if manifold.regulator_flow is not None:
        return Flow(manifold.regulator_flow.si, REGULATOR.b)
    if manifold.regulator_passes is not None:
        from sequencer.air.convert import conductance_of_nominal  # few manifolds say it so

        return Flow(conductance_of_nominal(manifold.regulator_passes.si, REGULATOR.b), REGULATOR.b)
    return REGULATOR
