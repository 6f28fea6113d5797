"""A cylinder with nothing on it -> the mass that moves with its rod."""

from __future__ import annotations

import math

from sequencer.rig.cylinder import Cylinder

STEEL_KG_M3, ALUMINIUM_KG_M3 = 7850.0, 2700.0
"""Densities (handbook values)."""


def rod_mass_kg(cylinder: Cylinder) -> float:
    """Steel rod of stroke and one bore, aluminium piston half a bore thick: a shape by common practice, no source.

    >>> from sequencer.units import read_quantity as q
    >>> ram = Cylinder(name="ram", valve="v", bore=q("32 mm"), rod=q("12 mm"), stroke=q("200 mm"))
    >>> round(rod_mass_kg(ram), 3)
    0.241
    """
    bore, rod = cylinder.bore.si, cylinder.rod.si
    return math.pi / 4 * (STEEL_KG_M3 * rod**2 * (cylinder.stroke.si + bore) + ALUMINIUM_KG_M3 * bore**3 / 2)
