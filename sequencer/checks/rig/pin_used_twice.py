"""Two parts on one pin."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.checks.wires import Wire, free_pins, wires, write_instead
from sequencer.findings import Finding, Label, Rule
from sequencer.phrases import PinName

_TWO = changed(LAMP, ("lamp eyes: on box pwm0\n", "lamp eyes: on box pwm0\nlamp nose: on box pwm1\n"))

RULE = Rule(
    "R005", "a pin used twice",
    "Two parts on one pin do everything together: the cue for one moves the other as well.",
    failing=changed(_TWO, ("pwm1", "pwm0")), mended=_TWO,
)


def find(facts: Facts) -> Iterator[Finding]:
    taken: dict[PinName, Wire] = {}
    for wire in wires(facts.show):
        first = taken.setdefault(wire.pin, wire)
        if first is not wire:
            free = free_pins(facts.show, wire.pin.board, wire.is_input, _fades(facts, wire))[:1]
            message = (f"`{wire.who}` is on {wire.pin.board} {wire.pin.pin}, where `{first.who}` is already; "
                       + (f"{free[0]} is free." if free else "no other pin of its kind is free."))
            label = Label(first.span, f"`{first.who}` is here")
            yield RULE.at(wire.span, message, labels=(label,), mends=write_instead(wire.span, free))


def _fades(facts: Facts, wire: Wire) -> bool:
    """Whether the pin that it is on now can fade, so that the one it is offered can."""
    return wire.placed.part.kind == "lamp" and facts.profile is not None and any(
        pin.fades for pin in facts.profile.pins if pin.name == wire.pin.pin)
