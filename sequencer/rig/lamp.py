"""A lamp on an output: on, off, a level, a fade, a flicker, flashes.

Levels between need an output that can fade; whether this one can is known to the board's profile. How fast
flashes may be is for the checks.
"""

from typing import Any, ClassVar, Literal

from sequencer.rig.asked import half_period_of, share_of, time_of
from sequencer.rig.base import Part, Pin, Verb, between, contradiction
from sequencer.rig.drive import Drive, Fade, Flash, Flicker, SetLevel


def _flickers(lamp: "Lamp", values: Any) -> tuple[Drive, ...]:
    low, high = share_of(values, "low"), share_of(values, "high")
    if low >= high:
        raise contradiction("low", "a flicker goes from the lower level to the higher, and "
                                   f"{values['low']} is not below {values['high']}")
    return (Flicker(lamp.pin, low, high, time_of(values, "time")),)


def _fades(lamp: "Lamp", values: Any) -> tuple[Drive, ...]:
    return (Fade(lamp.pin, share_of(values, "level"), time_of(values, "over")),)


def _flashes(lamp: "Lamp", values: Any) -> tuple[Drive, ...]:
    return (Flash(lamp.pin, half_period_of(values, "rate"), time_of(values, "time")),)


class Lamp(Part):
    kind: ClassVar[str] = "lamp"
    phrases: ClassVar[tuple[str, ...]] = (
        "on {pin:pin}",
        "draws {draws:power}",
        "on for at most {longest_on:time}",
        "colour {colour:white|amber|red|green|blue|violet|ultraviolet}",
    )
    verbs: ClassVar[tuple[Verb, ...]] = (
        Verb("on", lambda lamp, _: (SetLevel(lamp.pin, 1.0),)),
        Verb("off", lambda lamp, _: (SetLevel(lamp.pin, 0.0),)),
        Verb("to {level:share}", lambda lamp, values: (SetLevel(lamp.pin, share_of(values, "level")),)),
        Verb("to {level:share} over {over:time}", _fades),
        Verb("flickers {low:share} to {high:share} for {time:time}", _flickers),
        Verb("flashes {rate:frequency} for {time:time}", _flashes),
    )

    pin: Pin
    # Up to a mains floodlight behind a relay (common practice, no source).
    draws: between("0.01 W", "3000 W") | None = None
    longest_on: between("1 ms", "12 h") | None = None
    # Red matters most where it flashes; None: not known, and then asked for there.
    colour: Literal["white", "amber", "red", "green", "blue", "violet", "ultraviolet"] | None = None
