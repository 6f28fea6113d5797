"""A cylinder that spring or weight should bring home, and that stays out."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.strokes import Moved, moved, say_force
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule

ALONE = changed(LUNGE, ("valve shove like valve_5_2_quarter: on box out0",
                        "valve shove like valve_3_2_quarter: on box out0"))
LID = "stroke 12 in, single acting, weight returns, moves {} lb, lifts 90 deg"
RULE = Rule(
    "A003", "a return that is too weak, or has no way out",
    "A single-acting cylinder comes home by its spring or by weight alone. These must overcome the seals all the way, "
    "and the air in the cylinder must have a way out: a closed 2/2 valve shuts it in.",
    failing=changed(ALONE, ("stroke 12 in, measured out 0.4 s, back 0.6 s", LID.format("1/2"))),
    mended=changed(ALONE, ("stroke 12 in, measured out 0.4 s, back 0.6 s", LID.format(20))),
    source="forces at rest and the motion reckoned from its air; friction of seals 1 to 10 psi of the bore (Machine "
    "Design, pneumatic actuator load requirements)",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        if one.part.acting != "single" or "home" not in one.strokes:
            continue
        label = Label(yard.parts[one.valve.name].span, "on this valve")
        if one.valve.ports == "2/2":
            message = (f"`{one.part.name}` has no way to let its air out: `{one.valve.name}` is a 2/2 valve, which "
                       "shuts it in when it closes; a 3/2 valve lets it out.")
            yield RULE.at(one.placed.span, message, labels=(label,))
        elif not one.strokes["home"].arrives:
            yield RULE.at(one.placed.span, _sentence(one), labels=(label,))


def _sentence(one: Moved) -> str:
    margin, like = one.margin("home"), one.regulator
    place = "with the rod home" if margin.at < 0.005 else f"{100 * margin.at:.0f} % out"
    brings = "its spring brings" if one.part.returned_by == "spring" else "its weight brings"
    return (f"`{one.part.name}` does not come home: {place} {brings} {say_force(margin.push_n, like)}, and "
            f"{say_force(margin.against_n, like)} hold it; give it a stiffer spring or more weight, or a "
            "double-acting cylinder.")
