"""A one-way flow control at a cylinder port -> the (C, b) it has in either direction at a setting of its needle.

The direction is that of the air, decided by the pressures, never by the command. Needle laws differ by maker: this
one is assumed, and a needle near closed is the largest single error of an untimed prop.
"""

from __future__ import annotations

from typing import Literal

from sequencer.air.flow import Flow
from sequencer.frozen import frozen

Metering = Literal["out", "in"]

LEAK = 0.02
"""What a needle at 0 still passes, as a share of its full conductance (assumed, measure yours)."""
POWER = 1.5
"""How the rest grows with the setting (assumed). 0.05 less changes an arrival by 3 to 4 % near open, 32 % at 0.25
(computed with the air model)."""


FULL, FREE = 0.7e-8, 1.2e-8
"""C in m3/(s Pa) of a flow control for 1/4 in tube: needle open, and the unmetered direction (assumed)."""


@frozen
class FlowControl:
    """A needle with a check valve beside it. C in m3/(s Pa): `full` needle open, `free` the unmetered direction.

    Raises ValueError for what is no such part.
    """

    full: float = FULL
    free: float = FREE
    b: float = 0.3
    metering: Metering = "out"

    def __post_init__(self) -> None:
        Flow(self.full, self.b)
        Flow(self.free, self.b)


def needle_conductance(full: float, setting: float) -> float:
    """C of a needle: C_full (0.02 + 0.98 s^1.5), setting s from 0 (screwed in) to 1. Assumed; time your prop.

    Raises ValueError for a setting outside 0 to 1.

    >>> f"{needle_conductance(0.7e-8, 0.25):.4e}"
    '9.9750e-10'
    """
    if not 0 <= setting <= 1:
        raise ValueError(f"a needle is set between 0 and 1, not {setting}")
    return full * (LEAK + (1 - LEAK) * setting**POWER)


def setting_of_needle(full: float, conductance: float) -> float:
    """The setting that gives a conductance: inverse of `needle_conductance`.

    Raises ValueError where no setting does: less than the leak, or more than the open needle.

    >>> round(setting_of_needle(0.7e-8, 9.975e-10), 6)
    0.25
    """
    of_the_rest = (conductance / full - LEAK) / (1 - LEAK)
    if not -1e-12 <= of_the_rest <= 1 + 1e-12:
        raise ValueError(f"this needle passes {LEAK * full} to {full} m3/(s Pa), never {conductance}")
    return min(max(of_the_rest, 0.0), 1.0) ** (1 / POWER)


def share_of_open(setting: float) -> float:
    """What a needle passes as a share of an open one. A setting above 1 is one that passes more than is assumed.

    >>> share_of_open(1.0), round(share_of_open(0.25), 4), share_of_open(4.0)
    (1.0, 0.1425, 8.0)
    """
    return needle_conductance(1.0, setting) if setting < 1 else setting**POWER


def setting_that_passes(share: float) -> float:
    """The inverse of `share_of_open`. Raises ValueError for less than the leak.

    >>> round(setting_that_passes(8.0), 9)
    4.0
    """
    return setting_of_needle(1.0, share) if share < 1 else share ** (1 / POWER)


def through_flow_control(part: FlowControl, setting: float, leaving: bool) -> Flow:
    """What a flow control passes for air leaving the chamber (`leaving`) or entering it.

    The metered direction has the needle, never more than the free way; the other the free way.

    >>> through_flow_control(FlowControl(), 1.0, leaving=True)
    Flow(c_m3_s_pa=7e-09, b=0.3)
    >>> through_flow_control(FlowControl(), 0.1, leaving=False)
    Flow(c_m3_s_pa=1.2e-08, b=0.3)
    """
    metered = leaving == (part.metering == "out")
    needle = needle_conductance(part.full, setting)
    return Flow(min(part.free, needle) if metered else part.free, part.b)
