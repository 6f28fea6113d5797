"""A cylinder that people can reach, and that presses or hits harder than a person should meet."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.stops import CONTACT_ENERGY_J, CONTACT_FORCE_N
from sequencer.air.stroke import Stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import Moved, moved, say_energy, say_force, say_pressure
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity

RULE = Rule(
    "A007", "a prop in reach that presses or hits hard",
    "The builder says that people can reach it. What closes on a person with more than 75 N, or meets one with more "
    "than 4 J, is to be avoided; these figures are for adults and broad blunt edges, and do not make anything below "
    "them safe. Keep people away from where it moves, by distance or a fence, and follow your local codes.",
    failing=changed(LUNGE, ("reach fenced", "reach possible")), mended=LUNGE, severity=Severity.WARNING,
    source="ISO 14120:2015 5.2.5.2 (before: EN 953), read in manuals that quote it",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        if one.reach == "possible":
            yield from _judged(one)


def _judged(one: Moved) -> Iterator[Finding]:
    area_m2 = max(one.margin(toward).area_m2 for toward in one.strokes)
    pressure = one.strokes[next(iter(one.strokes))].described.pressure_pa_gauge
    force, energy = area_m2 * pressure, max(map(_most_energy_j, one.strokes.values()))
    harm = []
    if force > CONTACT_FORCE_N[0]:
        harm.append(f"presses with up to {say_force(force, one.regulator)} at its rod, where "
                    f"{say_force(CONTACT_FORCE_N[0], one.regulator)} is much (it would take "
                    f"{say_pressure(CONTACT_FORCE_N[0] / area_m2, one.regulator, up=False)} to stay below)")
    if energy > CONTACT_ENERGY_J[0]:
        harm.append(f"carries up to {say_energy(energy)}, where {CONTACT_ENERGY_J[0]:g} J is much")
    if harm:
        yield RULE.at(one.placed.span, f"`{one.part.name}` {' and '.join(harm)}, and people can reach it; keep them "
                                       "away from where it moves, then write `reach fenced` or `reach none`.")


def _most_energy_j(stroke: Stroke) -> float:
    """Of all that moves with the rod, where it is fastest."""
    cylinder = stroke.trace.cylinder
    return max(cylinder.mass_at(sample.x_m) * sample.v_m_s**2 / 2 for sample in stroke.trace.samples())
