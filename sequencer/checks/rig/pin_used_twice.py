"""Two parts on one pin."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.wires import Wire, Yard, write_instead
from sequencer.findings import Finding, Label, Rule
from sequencer.phrases import PinName

_TWO = changed(LAMP, ("lamp eyes: on box pwm0\n", "lamp eyes: on box pwm0\nlamp nose: on box pwm1\n"))

RULE = Rule(
    "R005", "a pin used twice",
    "Two parts on one pin do everything together: the cue for one moves the other as well.",
    failing=changed(_TWO, ("pwm1", "pwm0")), mended=_TWO,
)


def find_among(yard: Yard) -> Iterator[Finding]:
    taken: dict[PinName, Wire] = {}
    for wire in yard.wires:
        first = taken.setdefault(wire.pin, wire)
        if first is not wire:
            free = yard.free_pins(wire.pin.board, wire.is_input, _fades(yard, wire))[:1]
            message = (f"`{wire.who}` is on {wire.pin.board} {wire.pin.pin}, where `{first.who}` is already; "
                       + (f"{free[0]} is free." if free else "no other pin of its kind is free."))
            label = Label(first.span, f"`{first.who}` is here")
            yield RULE.at(wire.span, message, labels=(label,), mends=write_instead(wire.span, free))


def _fades(yard: Yard, wire: Wire) -> bool:
    """Whether the pin that it is on now can fade, so that the one it is offered can."""
    profile = yard.profiles.get(wire.pin.board)
    pin = profile.find_pin(wire.pin.pin) if profile is not None else None
    return wire.placed.part.kind == "lamp" and pin is not None and pin.fades
