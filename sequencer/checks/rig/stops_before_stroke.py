"""A linkage that stands at its end while the cylinder still has stroke left."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.schedule.supply import request_for

LEVER = """    lamp eyes: on box pwm0
    lever gate on ram:
        rod 8 in from the pivot
        cylinder 20 in from the pivot at -90 deg
        swings from -30 deg to {} deg
        arm 36 in, carries 2 lb
"""
RULE = Rule(
    "R027", "a swing that ends before the stroke",
    "The times are reckoned to the end of the swing. If nothing stops the prop there, the cylinder drives it on, and "
    "every landing comes later than it says; if something does, it takes the blow that the end of the cylinder would "
    "have taken.",
    failing=changed(LUNGE, ("stroke 12 in, measured out 0.4 s, back 0.6 s", "stroke 8 in, cushioned"),
                    ("    lamp eyes: on box pwm0\n", LEVER.format(15))),
    mended=changed(LUNGE, ("stroke 12 in, measured out 0.4 s, back 0.6 s", "stroke 8 in, cushioned"),
                   ("    lamp eyes: on box pwm0\n", LEVER.format("34.9"))),
    severity=Severity.NOTE, source="the geometry of the parts as described",
)
NEEDS = ("whole",)


def find_among(yard: Yard) -> Iterator[Finding]:
    for placed in yard.of_kind("cylinder"):
        request = request_for(yard.parts, placed.part.name, 0.0, "out")
        if request is None or not request.drives:
            continue
        # Loaded here: a show in which no cylinder drives anything needs nothing of it.
        from sequencer.air.from_rig import NoMechanism, mechanism_of_parts

        try:
            mechanism = mechanism_of_parts(request.cylinder, request.drives)
        except NoMechanism:
            continue  # said by the check that names what cannot be built
        for remark in mechanism.remarks:
            yield RULE.at(yard.parts[remark.part].at(remark.field), f"{remark.sentence}.")
