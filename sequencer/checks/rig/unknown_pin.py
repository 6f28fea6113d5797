"""A pin that the board does not have."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.wires import Yard, pins_in_words, write_instead
from sequencer.findings import Finding, Rule, closest

RULE = Rule(
    "R004", "a pin that the board does not have",
    "Each board has its own pins: those called `pwm` fade, those called `out` switch, those called `in` sense. "
    "`sequencer shelf board` lists the boards.",
    failing=changed(LAMP, ("pwm0", "pwm9")), mended=LAMP, source="the profiles of the boards, sequencer/board/profiles",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for wire in yard.wires:
        profile = yard.profiles.get(wire.pin.board)
        if profile is None or profile.find_pin(wire.pin.pin) is not None:
            continue
        fit = profile.inputs if wire.is_input else profile.outputs
        free = yard.free_pins(wire.pin.board, wire.is_input)
        near = closest(wire.pin.pin, free, 2) or free[:1]
        what = "input" if wire.is_input else "output"
        message = f"`{wire.pin.board}` ({profile.name}) has no {what} `{wire.pin.pin}`; it has {pins_in_words(fit)}."
        yield RULE.at(wire.span, message, mends=write_instead(wire.span, near))
