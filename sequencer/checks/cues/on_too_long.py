"""A part that a scare keeps on for longer than the part is said to bear."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import BOARD, changed
from sequencer.checks.moments import grouped
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.phrases import PinName
from sequencer.rig.drive import Fade, Flicker, Pulse, SetLevel
from sequencer.schedule.plan import Moment, PlannedRoutine
from sequencer.show import Placed
from sequencer.units import Quantity, say_time

_FOG = BOARD + '''sensor step like mat: on box in0
fogger mist: on box out0, on for at most 10 s
scare creep on step trips:
    0 s: mist runs for 8 s
'''

RULE = Rule(
    "T012", "on for longer than the part bears",
    "`on for at most` is kept by the board itself: it switches the part off then, whatever the scare says, and writes "
    "it into its log. A cue that asks for more never does what it says.",
    failing=changed(_FOG, ("for 8 s", "for 12 s")), mended=_FOG, severity=Severity.WARNING,
    source="the part's own property `on for at most`",
)
NEEDS = ("plan",)

_Lit = Pulse | Flicker | SetLevel | Fade


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    for moments in grouped(routine, _pin_of).values():
        placed = yard.parts.get(moments[0].action.who)
        limit = getattr(placed.part, "longest_on", None) if placed is not None else None
        if placed is not None and isinstance(limit, Quantity):
            yield from _too_long(moments, placed, limit)


def _pin_of(moment: Moment) -> Iterator[PinName]:
    if isinstance(moment.drive, _Lit):
        yield moment.drive.pin


def _too_long(moments: list[Moment], placed: Placed, limit: Quantity) -> Iterator[Finding]:
    """The next line on the same pin ends what a line began; a time of its own ends it sooner."""
    rounds = sorted((moment for moment in moments if not moment.again), key=lambda moment: moment.earliest_us)
    for first, after in zip(rounds, [*rounds[1:], None], strict=True):
        on_us = _own_time_us(first)
        if on_us is None and after is not None and _is_on(first):
            on_us = after.earliest_us - first.latest_us
        if on_us is not None and on_us > limit.us:
            message = (f"`{placed.part.name}` is to be on for {say_time(on_us)} here; "
                       f"the board switches it off after {limit.text}.")
            label = Label(placed.at("longest_on"), f"at most {limit.text}")
            yield RULE.at(first.span, message, labels=(label,))


def _own_time_us(moment: Moment) -> int | None:
    drive = moment.drive
    return drive.for_us if isinstance(drive, Pulse | Flicker) else None


def _is_on(moment: Moment) -> bool:
    drive = moment.drive
    return isinstance(drive, SetLevel | Fade) and drive.level > 0
