"""A valve's coils -> the way its spool stands, tick by tick, with the memory that two-coil valves have.

`home` and `out` send the cylinder there, `holds` traps its air, `vented` leaves both its ends open, `fed` puts both
under pressure. Which way a valve goes without power is the rig's to say (`power_off_way`); how the rod then moves is
the air room's.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.air.from_rig import ValveWay as Way
from sequencer.rig.valve import Valve, power_off_way, pulses

_OFF_WAYS: dict[str, Way] = {"home": "home", "out": "out", "stays": "holds", "free": "vented"}


def way_without_power(valve: Valve) -> Way:
    """Where the valve sends its cylinder with every coil off; not for a valve that remembers."""
    if valve.centre == "pressurised":
        return "fed"
    return _OFF_WAYS[power_off_way(valve)]


def way_of_one_coil(valve: Valve, energised: bool) -> Way:
    """A valve with one coil: driven, it does the opposite of what it does without power."""
    off = way_without_power(valve)
    if not energised:
        return off
    if off != "out":
        return "out"
    return "holds" if valve.ports == "2/2" else "home"


@dataclass(frozen=True, slots=True)
class SpoolPlan:
    """One valve on its outputs: `coil` sends out, `back` home (indexes). `starts`: where its cylinder
    stands."""

    name: str
    valve: Valve
    coil: int
    back: int | None = None
    starts: Way = "home"

    @property
    def outputs(self) -> tuple[int, ...]:
        return (self.coil,) if self.back is None else (self.coil, self.back)


class Spool:
    """The way one valve stands while the dry run goes on. One that remembers begins as its cylinder
    stands."""

    def __init__(self, plan: SpoolPlan) -> None:
        self.plan = plan
        self._remembers = pulses(plan.valve)
        self.way: Way = plan.starts if self._remembers else self._held_way(False, False)
        self._before: Way = self.way
        self._since = 0

    def coils_at(self, tick: int, coil_on: bool, back_on: bool) -> Way:
        """The coils are as said from this tick on; gives the way that the valve goes."""
        if self._remembers:
            self._remember(tick, coil_on, back_on)
        else:
            self.way = self._held_way(coil_on, back_on)
        return self.way

    def _held_way(self, coil_on: bool, back_on: bool) -> Way:
        if self.plan.back is None:
            return way_of_one_coil(self.plan.valve, coil_on)
        if coil_on == back_on:
            # Both coils pull against each other: it stands where its springs hold it, as with none.
            return way_without_power(self.plan.valve)
        return "out" if coil_on else "home"

    def _remember(self, tick: int, coil_on: bool, back_on: bool) -> None:
        """A pulse too short to bring the spool over leaves it where it was; both coils at once move
        nothing."""
        if coil_on != back_on:
            wanted: Way = "out" if coil_on else "home"
            if wanted != self.way:
                self._before, self._since, self.way = self.way, tick, wanted
            return
        over = round((self.plan.valve.responds.si + self.plan.valve.shift.si) * 1000)
        if tick - self._since < over and self.way != self._before:
            self.way = self._before
