"""What an end of travel takes, and from which force and energy on a part that people can reach counts as dangerous.

Limits only; what a motion brings is `motion`'s. None of these figures makes a prop safe to touch: they defer to local
codes and to whoever is licensed to judge.
"""

from __future__ import annotations

from itertools import pairwise

STOP_ENERGY_J = (
    (0.008, 0.03), (0.010, 0.05), (0.012, 0.07), (0.016, 0.15), (0.020, 0.20), (0.025, 0.30), (0.032, 0.40),
    (0.040, 0.70), (0.050, 1.0), (0.063, 1.3), (0.080, 1.8), (0.100, 2.5),
)
"""Bore in m and the energy in J that elastic bumpers inside a cylinder of that bore are given for. From memory, what
catalogues of ISO 6432 and ISO 15552 cylinders print; makers differ by a factor of two, so read the sheet of yours."""
CONTACT_FORCE_N = 75.0, 150.0
"""Closing force on a reachable edge from which it is to be avoided, and which it must never pass where it reverses at
once. ISO 14120:2015, 5.2.5.2 (before: EN 953), read in manuals that quote it. For adults and broad blunt edges."""
CONTACT_ENERGY_J = 4.0, 10.0
"""The same for the energy of what moves; same source."""


def stop_energy_j(bore_m: float) -> float:
    """Energy (J) that an uncushioned end of a cylinder of this bore should take at most; between sizes by a line.

    Range: 8 to 100 mm; outside, in proportion to the area. Raises ValueError for a bore that is not above 0.

    >>> stop_energy_j(0.032), round(stop_energy_j(0.0381), 3)
    (0.4, 0.629)
    """
    if not bore_m > 0:
        raise ValueError(f"no cylinder has a bore of {bore_m} m")
    for (low, less), (high, more) in pairwise(STOP_ENERGY_J):
        if low <= bore_m <= high:
            return less + (more - less) * (bore_m - low) / (high - low)
    end, energy = STOP_ENERGY_J[0] if bore_m < STOP_ENERGY_J[0][0] else STOP_ENERGY_J[-1]
    return energy * (bore_m / end) ** 2
