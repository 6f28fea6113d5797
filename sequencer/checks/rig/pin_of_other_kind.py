"""An output pin for a sensor, or an input pin for something that is driven."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.wires import Yard, pins_in_words, write_instead
from sequencer.findings import Finding, Rule

RULE = Rule(
    "R006", "an output used as an input, or an input as an output",
    "A pin either senses or drives. A lamp on an input stays dark, and a sensor on an output fights the board.",
    failing=changed(LAMP, ("on box in0", "on box out0")), mended=LAMP,
    source="the profiles of the boards, sequencer/board/profiles",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for wire in yard.wires:
        profile = yard.profiles.get(wire.pin.board)
        pin = profile.find_pin(wire.pin.pin) if profile is not None else None
        if profile is None or pin is None or pin.is_input == wire.is_input:
            continue
        has, needs = ("an input", "an output") if pin.is_input else ("an output", "an input")
        fit = profile.inputs if wire.is_input else profile.outputs
        kind = wire.placed.part
        message = (f"{wire.pin.pin} is {has}, and `{wire.who}` is {kind.article} {kind.kind}, which needs {needs}: "
                   f"{pins_in_words(fit)}.")
        mends = write_instead(wire.span, yard.free_pins(wire.pin.board, wire.is_input)[:1])
        yield RULE.at(wire.span, message, mends=mends)
