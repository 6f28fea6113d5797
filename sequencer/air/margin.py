"""A cylinder, what it drives and the way it goes -> the place where the least of its push is left over.

Forces at rest or in slow motion; how long a motion takes is `stroke`'s. The push is the full pressure on one side
against the air outside on the other, and whatever of weight and springs goes along; against it stand the rest of them,
the seals at rest, and the friction of what is driven.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sequencer.air.cylinder import CylinderAir
from sequencer.air.from_rig import Toward

PLACES = 64
"""Places of the way that are looked at; between them a load that a linkage makes hardly changes."""


@dataclass(frozen=True, slots=True)
class Margin:
    """In N, at a share `at` of the way (0 home, 1 out). `air_n` pushes, `helps_n` goes along, `against_n` resists."""

    at: float
    air_n: float
    helps_n: float
    against_n: float
    area_m2: float

    @property
    def push_n(self) -> float:
        return self.air_n + self.helps_n

    @property
    def share(self) -> float:
        """What is left of the push, as a share of it: 0 just balances, below it nothing moves.

        >>> Margin(0.0, 300.0, 100.0, 100.0, 0.001).share
        0.75
        """
        return 1 - self.against_n / self.push_n if self.push_n > 0 else -math.inf

    def pressure_for(self, share: float) -> float | None:
        """The gauge pressure (Pa) at which so much would be left at this place; None where no air pushes that way.

        >>> Margin(0.0, 300.0, 100.0, 100.0, 0.001).pressure_for(0.5)
        100000.0
        """
        if self.area_m2 <= 0:
            return None
        return max(self.against_n / (1 - share) - self.helps_n, 0.0) / self.area_m2


def margin_of(cylinder: CylinderAir, toward: Toward) -> Margin:
    """The weakest place on the way `toward`."""
    return min(_margins(cylinder, toward), key=lambda margin: margin.share)


def _margins(cylinder: CylinderAir, toward: Toward) -> Iterator[Margin]:
    low, high = cylinder.ends_m
    sign = 1.0 if toward == "out" else -1.0
    port = cylinder.cap if toward == "out" else cylinder.rod
    area = 0.0 if port.open else port.area_m2
    air = (cylinder.supply_pa - cylinder.ambient_pa) * area
    for place in range(PLACES + 1):
        x = low + (high - low) * place / PLACES
        outward = cylinder.load.steady_n() + cylinder.load.rate_n_m * x
        if cylinder.drives is not None:
            outward -= cylinder.drives.load_at(x, sign)[2]
        along = sign * outward
        against = cylinder.friction.static_n + max(-along, 0.0)
        yield Margin(place / PLACES, air, max(along, 0.0), against, area)
