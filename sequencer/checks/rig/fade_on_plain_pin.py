"""A level between off and on asked of an output that has none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import actions_of
from sequencer.checks.wires import Yard, write_instead
from sequencer.findings import Finding, Label, Rule
from sequencer.rig.drive import Drive, Fade, Flicker, SetLevel
from sequencer.show import Action, Routine

_FADES = changed(LAMP, ("2 s: eyes off", "2 s: eyes to 0 % over 1 s"))

RULE = Rule(
    "R007", "a fade on a pin that only switches",
    "Only the pins called `pwm` have levels between off and on. On any other pin a fade would be a jump at some "
    "moment that nobody has chosen.",
    failing=changed(_FADES, ("on box pwm0", "on box out0")), mended=_FADES,
    source="the profiles of the boards, sequencer/board/profiles",
)


def find(facts: Facts) -> Iterator[Finding]:
    for _, found in facts.of_each(_in_routine):
        yield from found
    yield from _faded(facts.yard, [action for safe in facts.show.safes for action in safe.actions])


def _in_routine(yard: Yard, routine: Routine) -> tuple[Finding, ...]:
    return tuple(_faded(yard, actions_of(routine)))


def _faded(yard: Yard, actions: Iterable[Action]) -> Iterator[Finding]:
    for action, drive in ((one, drive) for one in actions for drive in one.drives):
        asked = _level(drive)
        if asked is None or not isinstance(drive, Fade | Flicker | SetLevel):
            continue
        wire, profile = yard.wire(action.who, drive.pin), yard.profiles.get(drive.pin.board)
        pin = profile.find_pin(drive.pin.pin) if profile is not None else None
        if wire is None or pin is None or pin.fades or pin.is_input:
            continue
        free = yard.free_pins(wire.pin.board, False, fades=True)[:1]
        message = (f"`{action.who}` is to {asked}, and it is on {pin.name}, which is only on or off; put it on a "
                   f"pin that fades{f', such as {free[0]}' if free else ', of which none is free'}.")
        yield RULE.at(action.span, message, labels=(Label(wire.span, "on this pin"),),
                      mends=write_instead(wire.span, free))


def _level(drive: Drive) -> str | None:
    match drive:
        case Fade():
            return "fade"
        case Flicker():
            return "flicker between two levels"
        case SetLevel(level=level) if 0.0 < level < 1.0:
            return f"shine at {level:.0%}"
    return None
