"""What motors, pumps and foggers share: one output that is on or off, watts, and a longest time on.

Ranges by common practice, no source. Levels between off and on are for lamps.
"""

from typing import ClassVar

from sequencer.rig.asked import time_of
from sequencer.rig.base import Part, Pin, Verb, between
from sequencer.rig.drive import Pulse, SetLevel

SWITCHED_PHRASES = ("on {pin:pin}", "draws {draws:power}", "on for at most {longest_on:time}")


class Switched(Part):
    phrases: ClassVar[tuple[str, ...]] = SWITCHED_PHRASES
    verbs: ClassVar[tuple[Verb, ...]] = (
        Verb("runs", lambda part, _: (SetLevel(part.pin, 1.0),)),
        Verb("stops", lambda part, _: (SetLevel(part.pin, 0.0),)),
        Verb("runs for {time:time}", lambda part, values: (Pulse(part.pin, time_of(values, "time")),)),
    )

    pin: Pin
    # Up to a mains machine behind a relay.
    draws: between("0.01 W", "3000 W") | None = None
    # The board itself ends it then. None: the show sets no limit of its own.
    longest_on: between("1 ms", "12 h") | None = None
