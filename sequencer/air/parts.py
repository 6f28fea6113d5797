"""The smaller parts of an air line: muffler, quick exhaust, regulator with droop, the pilot of a valve.

Each gives a (C, b) or a pressure. What they are assumed to be, where nothing is printed, stands at the constants.
"""

from __future__ import annotations

from sequencer.air.flow import Flow, free_flow_m3_s
from sequencer.air.series import in_series
from sequencer.frozen import frozen

MUFFLER = Flow(4e-8, 0.3)
"""A clean 1/4 in sintered muffler (assumed; it hardly counts against a valve of 1.3e-8)."""
CLOGGED = 3.0
"""A muffler full of oil and dust passes this many times less (assumed). Worth a look when a prop has become slow."""
QUICK_EXHAUST = Flow(4e-8, 0.3)
"""Port to outside of a 1/4 in quick-exhaust valve (assumed)."""
CRACKING_PA = 0.05e5
"""By how much the line must be below the cylinder for a quick exhaust to open (assumed, 0.03 to 0.1 bar)."""
REGULATOR = Flow(4e-8, 0.35)
"""A 1/4 in regulator wide open (from memory)."""
PILOT_SHARE, PILOT_OFFSET_PA = 0.7, 1e5
"""Least pilot pressure of an air-piloted 5/2 valve with a spring: 0.7 x main pressure + 0.1 MPa, gauge (SMC SYA3000,
5000 and 7000 data page). A valve that takes its pilot air from its own supply needs what its sheet says instead."""
BISECTIONS = 50


@frozen
class Regulator:
    """What a regulator passes when wide open, and its band: it is open fully when its outlet is so far below its set
    pressure, shut at it. Does not relieve. Default band 0.5 bar (assumed, measure yours: close a gauge to a flow).

    Raises ValueError for a band that is not above 0.
    """

    way: Flow = REGULATOR
    band_pa: float = 0.5e5

    def __post_init__(self) -> None:
        if not self.band_pa > 0:
            raise ValueError(f"a regulator has a band above 0, not {self.band_pa} Pa")


def muffler_flow(clean: Flow = MUFFLER, clogged: bool = False) -> Flow:
    """A muffler as it is: clean, or clogged to a third of its C.

    >>> round(muffler_flow(clogged=True).c_m3_s_pa * 1e8, 3)
    1.333
    """
    return Flow(clean.c_m3_s_pa / CLOGGED, clean.b) if clogged else clean


def exhaust_past_quick_exhaust(part: Flow = QUICK_EXHAUST, muffler: Flow | None = MUFFLER) -> Flow:
    """How a chamber empties with a quick exhaust at its port: through it and its muffler, not through tube and valve.

    A flow control between the two still counts: put it in series. Caution: the rod then comes as fast as its load
    and springs drive it.

    >>> round(exhaust_past_quick_exhaust().c_m3_s_pa * 1e8, 3)
    3.175
    """
    return part if muffler is None else in_series((part, muffler))


def quick_exhaust_opens(line_pa: float, port_pa: float, cracking_pa: float = CRACKING_PA) -> bool:
    """Whether a quick exhaust lets the chamber out: the line is below the port by more than the cracking pressure.

    >>> quick_exhaust_opens(5.9e5, 6e5), quick_exhaust_opens(5.99e5, 6e5)
    (True, False)
    """
    return port_pa - line_pa > cracking_pa


def regulator_flow_m3_s(part: Regulator, set_pa: float, inlet_pa: float, outlet_pa: float) -> float:
    """Free air (m3 ANR/s) that a regulator lets through at an outlet pressure; 0 at and above its set pressure.

    Opening = (set - outlet) / band, held in 0 to 1, times what passes wide open. Range: air at 20 C. An inlet below
    the outlet gives 0: no flow back is reckoned with.

    >>> round(regulator_flow_m3_s(Regulator(), 7e5, 10e5, 6.75e5) * 60_000)  # half open, l/min
    1039
    """
    if outlet_pa >= inlet_pa or outlet_pa >= set_pa:
        return 0.0
    opening = min((set_pa - outlet_pa) / part.band_pa, 1.0)
    return opening * free_flow_m3_s(part.way, inlet_pa, outlet_pa)


def regulator_outlet_pa(part: Regulator, set_pa: float, inlet_pa: float, drawn_m3_s: float) -> float:
    """Outlet pressure while so much free air (m3 ANR/s) is drawn: the droop is set minus it.

    Falls as more is drawn; found by halving. Raises ValueError when the regulator cannot pass as much at all.

    >>> round(regulator_outlet_pa(Regulator(), 7e5, 10e5, 1039 / 60_000) / 1e5, 2)
    6.75
    """
    if drawn_m3_s > regulator_flow_m3_s(part, set_pa, inlet_pa, 0.0):
        raise ValueError(f"the regulator cannot pass {drawn_m3_s} m3/s from {inlet_pa} Pa")
    low, high = 0.0, min(set_pa, inlet_pa)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        enough = regulator_flow_m3_s(part, set_pa, inlet_pa, middle) >= drawn_m3_s
        low, high = (middle, high) if enough else (low, middle)
    return (low + high) / 2


def least_air_pilot_pa_gauge(main_pa_gauge: float) -> float:
    """Least gauge pressure at the pilot port of an air-piloted spring-return 5/2 valve: 0.7 p + 0.1 MPa.

    >>> round(least_air_pilot_pa_gauge(0.5e6))
    450000
    """
    return PILOT_SHARE * main_pa_gauge + PILOT_OFFSET_PA
