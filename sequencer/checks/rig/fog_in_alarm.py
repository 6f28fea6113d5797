"""Fog that goes on, or begins, when the house alarm sounds."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.cautions import caution
from sequencer.checks.examples import BOARD, changed
from sequencer.checks.facts import Facts
from sequencer.checks.inputs import ending_inputs
from sequencer.findings import Finding, Rule
from sequencer.rig.drive import SetLevel
from sequencer.show import Action, Show

_HOUSE = BOARD + '''sensor loop like alarm_loop: on box in0
sensor step like mat: on box in1
lamp house: on box pwm0
fogger mist like fogger_small: on box out0
scare creep on step trips:
    0 s: mist runs for 2 s, house off
    10 s: house on
stop: mist stops
alarm on loop trips: house on
'''

RULE = Rule(
    "R024", "fog in an alarm",
    "When the house alarm sounds, guests must see the way out. Fog must end then; what `alarm` does not name is as "
    "`stop` says.",
    failing=changed(_HOUSE, ("stop: mist stops", "stop: mist runs")), mended=_HOUSE,
    source="IBC 411 and 907, NFPA 101 chapter 12: confusing sights and sounds end on an alarm (as quoted by a fire "
           "marshal's notice of 2019)",
)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    if "alarm" not in ending_inputs(show).values() and not any(safe.word == "alarm" for safe in show.safes):
        return
    for placed in show.of_kind("fogger"):
        action = _in_alarm(show, placed.part.name)
        if action is not None and any(isinstance(drive, SetLevel) and drive.level > 0 for drive in action.drives):
            name = placed.part.name
            message = f"`{name}` runs when the house alarm sounds; write `{name} stops` in `alarm`."
            yield RULE.at(action.span, f"{message} {caution('alarm').text}")


def _in_alarm(show: Show, who: str) -> Action | None:
    """What is said of a part for an alarm: by `alarm`, else by `stop`."""
    for word in ("alarm", "stop"):
        for safe in show.safes:
            for action in safe.actions:
                if safe.word == word and action.who == who:
                    return action
    return None
