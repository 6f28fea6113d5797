"""Lamps that are asked to flash, or flicker, more than three times in a second."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sequencer.cautions import caution
from sequencer.checks.examples import LAMP, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import actions_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.frozen import frozen
from sequencer.rig.drive import Flash, Flicker
from sequencer.rig.lamp import Lamp
from sequencer.show import Action, Placed, Routine

MOST_A_SECOND = 3
SECOND_US = 1_000_000
SEEN_CHANGE, BRIGHT = 0.10, 0.80
"""A flash is a pair of opposing changes of a tenth of full brightness or more whose darker side is below 0.8."""
FLICKER_A_SECOND = 20
"""Levels a second that the board draws for a flicker; two changes make a flash, so at most half as many flashes."""

FLICKER_LEAST_US = 300_000
"""Seven levels, 50 ms apart, are the fewest that can make four flashes."""

RULE = Rule(
    "R016", "flashes faster than three a second",
    "Fast flashing can bring on a seizure, most often in young people and in the dark, where one lamp lights all "
    "that is seen. A lamp that fills only a small part of what a guest sees counts for less; nothing here "
    "knows how large it is.",
    failing=changed(LAMP, ("0 s: eyes on", "0 s: eyes flashes 8 Hz for 2 s")),
    mended=changed(LAMP, ("0 s: eyes on", "0 s: eyes flashes 2 Hz for 2 s")),
    severity=Severity.WARNING, source="WCAG 2.2, success criterion 2.3.1: three flashes or fewer in any one second",
)


def find(facts: Facts) -> Iterator[Finding]:
    flickered: set[str] = set()
    for _, found in facts.of_each(_too_fast):
        yield from found.flashes
        for action in found.flickers:
            if action.who not in flickered:
                flickered.add(action.who)
                yield _flicker(action)


@frozen
class _Found:
    """Of one routine. A flicker is said once a lamp, wherever it is."""

    flashes: tuple[Finding, ...]
    flickers: tuple[Action, ...]


def _too_fast(yard: Yard, routine: Routine) -> _Found:
    drives = [(action, drive) for action in actions_of(routine) for drive in action.drives]
    return _Found(
        tuple(finding for action, drive in drives if isinstance(drive, Flash)
              for finding in _flashes(yard, action, 2 * drive.half_period_us, drive.for_us)),
        tuple(action for action, drive in drives if isinstance(drive, Flicker) and _seen(drive)),
    )


def _flashes(yard: Yard, action: Action, period_us: int, lasts_us: int) -> Iterator[Finding]:
    begins = -(-min(lasts_us, SECOND_US) // period_us)
    if begins > MOST_A_SECOND and period_us * MOST_A_SECOND < SECOND_US:
        yield RULE.at(action.span, sentence(yard.parts, action.who, SECOND_US / period_us))


def sentence(parts: Mapping[str, Placed], who: str, rate: float, when: str = "") -> str:
    """How fast a lamp flashes, against the limit, with the caution that belongs to it."""
    placed = parts.get(who)
    red = placed is not None and isinstance(placed.part, Lamp) and placed.part.colour == "red"
    worse = " and is red, which is worse" if red else ""
    return (f"`{who}` flashes {rate:.3g} times a second{when}{worse}; the limit is {MOST_A_SECOND}. "
            f"{caution('strobe').text}")


def _seen(flicker: Flicker) -> bool:
    return flicker.high - flicker.low >= SEEN_CHANGE and flicker.low < BRIGHT and flicker.for_us > FLICKER_LEAST_US


def _flicker(action: Action) -> Finding:
    message = (f"A flicker of `{action.who}` changes {FLICKER_A_SECOND} times a second, so it can flash more than "
               f"{MOST_A_SECOND} times a second; keep it small in what guests see, or its levels within 10 %.")
    return RULE.at(action.span, message, severity=Severity.NOTE)
