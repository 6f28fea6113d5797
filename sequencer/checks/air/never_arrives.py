"""A cylinder that never gets to its end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sequencer.air.force import LOAD_RATIO_STILL
from sequencer.air.from_rig import Toward
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.helps import helped, where
from sequencer.checks.saying import listed
from sequencer.checks.strokes import Moved, margin_as, moved, say_force, say_pressure, way_word
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule
from sequencer.sizing.shelves import cylinders, system_of
from sequencer.units import Quantity

UNTIMED = (", measured out 0.4 s, back 0.6 s", "")
RULE = Rule(
    "A001", "a cylinder that never arrives",
    "The push of its air, at some place of the way, is less than the weight, springs and friction against it. The rod "
    "stands still there, or never sets out, and whatever waits for it waits in vain.",
    failing=changed(LUNGE, UNTIMED, ("stroke 12 in", "stroke 12 in, moves 120 lb, lifts 90 deg")),
    mended=changed(LUNGE, UNTIMED, ("stroke 12 in", "stroke 12 in, moves 20 lb, lifts 90 deg")),
    source="the motion reckoned from its air; 70 % of the theoretical force as the most a load may take: SMC, Air "
    "Cylinders Model Selection, 6-2-1",
)
HIGHEST_PA_GAUGE = 10e5
"""No higher pressure is advised: what plastic tube bears, about 10 bar (from memory)."""
WANTED = 1 - LOAD_RATIO_STILL
"""What is advised leaves at least so much of the push."""


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        for toward, stroke in one.strokes.items():
            if not stroke.arrives and not (one.part.acting == "single" and toward == "home"):
                yield RULE.at(one.placed.span, _sentence(one, toward))


def _sentence(one: Moved, toward: Toward) -> str:
    what = "never moves" if "never moved" in one.strokes[toward].flags else "never arrives"
    return f"`{one.part.name}` {what} on its way {way_word(toward)}: {forces(one, toward)}; {mends(one, toward)}."


def forces(one: Moved, toward: Toward) -> str:
    """The place and the two forces that decide."""
    margin, like = one.margin(toward), one.regulator
    return (f"{where(one, toward)}, it pushes with {say_force(margin.push_n, like)} against "
            f"{say_force(margin.against_n, like)}")


def mends(one: Moved, toward: Toward, wanted: float = WANTED) -> str:
    """The least pressure, the next bore on the shelf, the spring and the attachment that each leave `wanted` of the
    push at the weakest place."""
    left = f"{100 * wanted:.0f} % of the push"
    pressure = one.pressure_for(toward, wanted)
    choices = [say_pressure(pressure, one.regulator)] if pressure <= HIGHEST_PA_GAUGE else []
    bore = larger_bore(one, toward, wanted)
    if bore is not None:
        choices.append(f"a bore of {bore}")
    choices += helped(one, toward, wanted)
    if not choices:
        return f"no pressure, bore or spring that one can buy leaves {left}; lighten what it carries"
    return f"{listed(choices, 'or')} leaves {left}"


def larger_bore(one: Moved, toward: Toward, wanted: float) -> Quantity | None:
    """The smallest bore on the shelf above the present one that leaves so much at the same pressure."""
    for _, bore, rod in cylinders(system_of(one.part.bore)):
        if bore.si > one.part.bore.si:
            changed = one.part.model_copy(update={"bore": bore, "rod": rod})
            if margin_as(replace(one.strokes[toward].described, cylinder=changed), toward).share >= wanted:
                return bore
    return None
