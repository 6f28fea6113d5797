"""A cylinder whose motion cannot be reckoned: what it drives cannot be built, or its parts make no motion."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.air.request import StrokeRequest
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule
from sequencer.schedule.supply import request_for
from sequencer.show import Placed

RULE = Rule(
    "R026", "a cylinder that cannot move as described",
    "Every motion is reckoned from the parts. Where a lever cannot swing as its angles say, a rope is too short, or "
    "friction, needle and load are such that no motion comes of them, nothing can be said of any time.",
    failing=changed(LUNGE, ("    lamp eyes: on box pwm0\n", """    lamp eyes: on box pwm0
    rope hoist on ram: length 6 in, carries 2 lb, pulls while extending
""")), mended=LUNGE,
)
NEEDS = ("whole",)


def find_among(yard: Yard) -> Iterator[Finding]:
    for placed in yard.of_kind("cylinder"):
        for toward, start in (("out", 0.0), ("home", 1.0)):
            request = request_for(yard.parts, placed.part.name, start, toward)
            fault = None if request is None else _fault(yard, placed, request)
            if fault is not None:
                yield fault
                break


def _fault(yard: Yard, placed: Placed, request: StrokeRequest) -> Finding | None:
    # Loaded here: a show without a cylinder needs nothing of the air room, which takes longer than a small check.
    from sequencer.air.from_rig import NoMechanism
    from sequencer.air.request import UnknownAir
    from sequencer.air.stroke import predict_stroke

    try:
        predict_stroke(request)
    except UnknownAir:
        pass  # said where something moves it
    except NoMechanism as fault:
        return RULE.at(yard.parts[fault.part].at(fault.field), f"{_capital(str(fault))}.")
    except ValueError as fault:
        return RULE.at(placed.span, f"The motion of `{placed.part.name}` cannot be reckoned: {fault}.")
    return None


def _capital(sentence: str) -> str:
    return sentence if sentence.startswith("`") else sentence[:1].upper() + sentence[1:]
