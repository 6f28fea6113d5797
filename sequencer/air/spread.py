"""What a builder cannot know of a prop -> how much earlier or later its arrival may be.

Each unknown is moved to either end of its spread by itself and the motion found anew; what comes of each is put
together as independent errors are, by the root of the sum of their squares, earlier and later apart. Spreads are
95 in 100: a prop in twenty lies outside of each. Tests draw all of them at random and count who lands in the band.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns
from sequencer.frozen import frozen

CANNOT_TELL = math.log(3.0)
"""Where a rod no longer arrives at one end of a spread the band is at least three times as long on that side."""


@frozen
class Spread:
    """How far what is not known may be off, 95 in 100; factors both ways but for `needle` (of a turn) and times.

    `needle`: its setting; `friction`; `delay`: that of the valve; `pressure`: what the regulator gives, above the air
    outside; `flow`: what valve, tube, fittings and flow control pass; `taken_s`: the time taken on the prop.
    """

    needle: float
    friction: float
    delay: float
    pressure: float
    flow: float
    taken_s: float = 0.0


UNTIMED = Spread(needle=0.05, friction=2.0, delay=1.3, pressure=1.05, flow=1.25)
"""Of a prop as described: a needle read off its turns; seals of 2.5 to 10 % of the force at 6 bar; the times on a
valve's sheet; a dial gauge of 2 in (class 2.5 and parallax); C from a catalogue of another make (printed pairs of C and
Cv differ by a quarter). Common practice, no source, but for the last."""
TIMED = Spread(needle=0.0, friction=1.25, delay=1.1, pressure=1.03, flow=1.0, taken_s=0.03)
"""Of a prop that was timed: needle and flow are in the time taken; the time is read off a film of 30 pictures a second
(a picture is 33 ms; both ends are somewhere within one); seals are warmer or drier and the air a little more or less
on another evening. Common practice, no source."""

Found = Callable[[Described, Unknowns], float]
"""From what is described, the arrival in s; infinite where it does not arrive."""


@frozen
class Band:
    """The arrival is from `fastest_s` to `slowest_s`, 95 in 100. `stalls`: the rod may not arrive at all."""

    fastest_s: float
    slowest_s: float
    stalls: bool


def band_of(described: Described, unknowns: Unknowns, toward: Toward, spread: Spread, arrival: Found) -> Band:
    """The band round the arrival of a motion that arrives. `arrival` is asked about ten times."""
    base = arrival(described, unknowns)
    later = earlier = math.log1p(spread.taken_s / base) ** 2
    stalls = False
    for pair in _moved(described, unknowns, toward, spread):
        offs = [math.log(found / base) for found in (arrival(*moved) for moved in pair)]
        stalls = stalls or math.inf in offs
        offs = [min(off, CANNOT_TELL) for off in offs]
        later += max(*offs, 0.0) ** 2
        earlier += min(*offs, 0.0) ** 2
    return Band(base * math.exp(-math.sqrt(earlier)), base * math.exp(math.sqrt(later)), stalls)


def _moved(described: Described, unknowns: Unknowns, toward: Toward,
           spread: Spread) -> Iterator[tuple[tuple[Described, Unknowns], tuple[Described, Unknowns]]]:
    """Both ends of each spread, all else as it is."""
    name = "needle_out" if toward == "out" else "needle_back"
    setting = getattr(unknowns, name)
    if spread.needle and setting < NO_NEEDLE:
        low, high = max(setting - spread.needle, 0.0), min(setting + spread.needle, max(setting, 1.0))
        yield ((described, replace(unknowns, **{name: low})), (described, replace(unknowns, **{name: high})))
    for name in ("friction", "delay", "flow"):
        factor = getattr(spread, name)
        if factor > 1.0:
            less, more = (replace(unknowns, **{name: getattr(unknowns, name) * by}) for by in (1 / factor, factor))
            yield (described, less), (described, more)
    less_p, more_p = (replace(described, pressure_pa_gauge=described.pressure_pa_gauge * by)
                      for by in (1 / spread.pressure, spread.pressure))
    yield (less_p, unknowns), (more_p, unknowns)
