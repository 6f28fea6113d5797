"""A cylinder whose motion cannot be reckoned: what it drives cannot be built, or its parts make no motion."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.from_rig import NoMechanism
from sequencer.air.request import UnknownAir
from sequencer.air.stroke import predict_stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule
from sequencer.schedule.supply import request_for

RULE = Rule(
    "R026", "a cylinder that cannot move as described",
    "Every motion is reckoned from the parts. Where a lever cannot swing as its angles say, a rope is too short, or "
    "friction, needle and load are such that no motion comes of them, nothing can be said of any time.",
    failing=changed(LUNGE, ("    lamp eyes: on box pwm0\n", """    lamp eyes: on box pwm0
    rope hoist on ram: length 6 in, carries 2 lb, pulls while extending
""")), mended=LUNGE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    parts = facts.show.parts
    for placed in facts.show.of_kind("cylinder"):
        request = request_for(parts, placed.part.name, 0.0, "out")
        back = request_for(parts, placed.part.name, 1.0, "home")
        for asked in (request, back):
            try:
                if asked is not None:
                    predict_stroke(asked)
            except UnknownAir:
                break  # said where something moves it
            except NoMechanism as fault:
                yield RULE.at(parts[fault.part].at(fault.field), f"{_capital(str(fault))}.")
                break
            except ValueError as fault:
                yield RULE.at(placed.span, f"The motion of `{placed.part.name}` cannot be reckoned: {fault}.")
                break


def _capital(sentence: str) -> str:
    return sentence if sentence.startswith("`") else sentence[:1].upper() + sentence[1:]
