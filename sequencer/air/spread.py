"""What a builder cannot know of a prop -> how much earlier or later its arrival may be.

Each unknown is moved to either end of its spread by itself and the motion found anew; what comes of each is put
together as independent errors are, by the root of the sum of their squares, earlier and later apart. Spreads are
95 in 100: a prop in twenty lies outside of each. Tests draw all of them at random and count who lands in the band.

Where one end of a spread moves the arrival little, the other is not reckoned but taken from it: what makes a rod late
goes about evenly with friction and with what the air has to get through. A valve's delay only shifts the whole motion.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from sequencer.air.from_rig import NO_NEEDLE, Described, Toward, Unknowns
from sequencer.air.needle import share_of_open
from sequencer.frozen import frozen

CANNOT_TELL = math.log(3.0)
"""Where a rod no longer arrives at one end of a spread the band is at least three times as long on that side."""

SMALL = 0.05
"""Where one end of a spread moves the arrival by less than this share, the other end is taken from it. On 108 strokes
(the demo's, and drawn ones that were not timed) a band moves by that by 0.1 % in nine of ten, 0.4 % at worst."""


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


def band_of(described: Described, unknowns: Unknowns, toward: Toward, spread: Spread, arrival: Found,
            answers_s: float | None = None) -> Band:
    """The band round the arrival of a motion that arrives. `arrival` is asked three to eleven times.

    `answers_s` is the delay of the valve where the motion as a whole shifts with it: from rest, by one command.
    """
    base = arrival(described, unknowns)
    later = earlier = math.log1p(spread.taken_s / base) ** 2
    stalls = False
    pairs = [_offs(ends, base, arrival) for ends in _moved(described, unknowns, toward, spread, answers_s is None)]
    if answers_s is not None:
        pairs.append([math.log1p(answers_s * (by - 1) / base) for by in (spread.delay, 1 / spread.delay)])
    for offs in pairs:
        stalls = stalls or math.inf in offs
        offs = [min(off, CANNOT_TELL) for off in offs]
        later += max(*offs, 0.0) ** 2
        earlier += min(*offs, 0.0) ** 2
    return Band(base * math.exp(-math.sqrt(earlier)), base * math.exp(math.sqrt(later)), stalls)


@frozen
class _Ends:
    """Both ends of a spread, all else as it is. What makes a rod late is `share` times as much less at the `other` end
    as it is more at `one`; None where that is not known."""

    one: tuple[Described, Unknowns]
    other: tuple[Described, Unknowns]
    share: float | None


def _offs(ends: _Ends, base: float, arrival: Found) -> list[float]:
    """How much later either end makes the rod, as a logarithm."""
    one = math.log(arrival(*ends.one) / base)
    if ends.share is not None and abs(one) < SMALL:
        return [one, math.log1p(-ends.share * math.expm1(one))]
    return [one, math.log(arrival(*ends.other) / base)]


def _moved(described: Described, unknowns: Unknowns, toward: Toward, spread: Spread, delay: bool) -> Iterator[_Ends]:
    """Every spread but that of the valve's delay, and that as well where `delay` says so."""
    name = "needle_out" if toward == "out" else "needle_back"
    setting = getattr(unknowns, name)
    if spread.needle and setting < NO_NEEDLE:
        low, high = max(setting - spread.needle, 0.0), min(setting + spread.needle, max(setting, 1.0))
        resists = [1 / share_of_open(at) for at in (low, setting, high)]
        share = (resists[1] - resists[2]) / (resists[0] - resists[1]) if low < setting < high else None
        closer, wider = (replace(unknowns, **{name: at}) for at in (low, high))
        yield _Ends((described, closer), (described, wider), share)
    for name in ("friction", *(("delay",) if delay else ())):
        factor = getattr(spread, name)
        if factor > 1.0:
            more, less = (replace(unknowns, **{name: getattr(unknowns, name) * by}) for by in (factor, 1 / factor))
            yield _Ends((described, more), (described, less), 1 / factor)
    if spread.flow > 1.0:
        less, more = (replace(unknowns, flow=unknowns.flow * by) for by in (1 / spread.flow, spread.flow))
        yield _Ends((described, less), (described, more), 1 / spread.flow)
    low_p, high_p = (replace(described, pressure_pa_gauge=described.pressure_pa_gauge * by)
                     for by in (1 / spread.pressure, spread.pressure))
    yield _Ends((low_p, unknowns), (high_p, unknowns), 1 / spread.pressure)
