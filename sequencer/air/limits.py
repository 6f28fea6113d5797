"""A stroke -> which part to change to make it faster: each is eased by the same share and the stroke found again.

No rule of thumb: what counts is what the model says. Left to others: whether a faster stroke is wanted at all; it hits
harder by the square of its speed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from sequencer.air.cylinder import CylinderAir, Port
from sequencer.air.flow import Flow
from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns, cylinder_air, move_whole
from sequencer.air.needle import LEAK, setting_that_passes, share_of_open
from sequencer.frozen import frozen

Cause = Literal["supply", "valve", "tube", "needle", "flow control", "mass", "friction"]
EASED = 0.2
"""By how much of itself a part is eased: so much more pressure above the air outside, C of valve, tube or needle, or
so much less mass or friction."""


@frozen
class Limit:
    """Easing this part by a fifth makes the arrival earlier by `gain`, a share of it (negative: later)."""

    cause: Cause
    gain: float


def what_limits(described: Described, unknowns: Unknowns, toward: Toward, until_s: float) -> tuple[Limit, ...]:
    """The parts in the order of what they gain. Empty where the rod does not arrive by `until_s` as it is.

    A needle counts while it can be opened, and its flow control as a part once it is fully open; where there is none,
    and where the valve sits on the cylinder (no tube), they are not among them.
    """
    plain = cylinder_air(described, unknowns, toward)
    now = _arrival(plain, described, toward, until_s)
    if now is None:
        return ()
    found = []
    for cause, eased in _eased(plain, described, unknowns, toward).items():
        then = _arrival(eased, described, toward, until_s)
        found.append(Limit(cause, 0.0 if then is None else 1 - then / now))
    return tuple(sorted(found, key=lambda limit: -limit.gain))


def _arrival(cylinder: CylinderAir, described: Described, toward: Toward, until_s: float) -> float | None:
    trace = move_whole(cylinder, described.valve, toward, until_s, toward)
    return trace.arrival_s(1.0 if toward == "out" else 0.0, 1 if toward == "out" else -1)


def _eased(plain: CylinderAir, described: Described, unknowns: Unknowns, toward: Toward) -> dict[Cause, CylinderAir]:
    more, less = 1 + EASED, 1 - EASED
    friction = plain.friction
    found: dict[Cause, CylinderAir] = {
        "supply": replace(plain, supply_pa=plain.ambient_pa + (plain.supply_pa - plain.ambient_pa) * more),
        "valve": replace(plain, cap=_wider_valve(plain.cap), rod=_wider_valve(plain.rod)),
        "mass": replace(plain, load=replace(plain.load, mass_kg=plain.load.mass_kg * less)),
        "friction": replace(plain, friction=replace(friction, sliding_n=friction.sliding_n * less,
                                                    static_n=friction.static_n * less)),
    }
    if described.tube_length_m > 0:
        # C of a tube goes with its bore squared, or somewhat faster where it is long.
        wider = replace(described, tube_inner_m=described.tube_inner_m * more**0.5)
        found["tube"] = cylinder_air(wider, _as_wide(unknowns, more), toward)
    name = "needle_out" if toward == "out" else "needle_back"
    setting = getattr(unknowns, name)
    if setting < NO_NEEDLE:
        eased = cylinder_air(described, replace(unknowns, **{name: _opened(setting)}), toward)
        found["needle" if setting < 1.0 else "flow control"] = eased
    return found


def _as_wide(unknowns: Unknowns, wider: float) -> Unknowns:
    """Needles that pass in flow controls of a wider tube what these do in theirs."""
    out, back = (setting if setting >= NO_NEEDLE else setting_that_passes(max(share_of_open(setting) / wider, LEAK))
                 for setting in (unknowns.needle_out, unknowns.needle_back))
    return replace(unknowns, needle_out=out, needle_back=back)


def _wider_valve(port: Port) -> Port:
    def wider(flow: Flow) -> Flow:
        return Flow(flow.c_m3_s_pa * (1 + EASED), flow.b)

    return replace(port, supply=wider(port.supply), exhaust=wider(port.exhaust))


def _opened(setting: float) -> float:
    """The setting at which the needle passes a fifth more, at most all; of an open one that of a larger part."""
    more = share_of_open(setting) * (1 + EASED)
    return setting_that_passes(min(more, 1.0) if setting < 1.0 else more)
