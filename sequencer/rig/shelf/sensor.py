"""Sensors and buttons, as they are commonly wired to an input that is pulled high.

A stop and an alarm loop are closed while all is well, so that a torn wire reads as a stop. A button on a
board is not an emergency stop: that one cuts valve power and vents the air with no software in between.
"""

from __future__ import annotations

from sequencer.rig.shelf.shape import MEANING, MEMORY, PRACTICE, ShelfPart

CLOSES = ("low when tripped", f"{PRACTICE}: its contact pulls the input to ground")
OPENS = ("high when tripped", f"{PRACTICE}: its contact opens and the input goes high, as a torn wire does")
BOUNCE = ("settles in 20 ms", f"{PRACTICE}; contacts bounce for some milliseconds")

TRIGGER = ("kind trigger", MEANING)

PARTS: tuple[ShelfPart, ...] = (
    ShelfPart("beam", "sensor", "light beam whose receiver lets go when somebody breaks it",
              (("high when tripped", f"{PRACTICE}: the receiver lets go, which a torn wire does too"),
               ("settles in 10 ms", PRACTICE), TRIGGER)),
    ShelfPart("mat", "sensor", "pressure mat that closes a contact when stepped on",
              (CLOSES, ("settles in 50 ms", f"{PRACTICE}; foam lets the contact chatter"), TRIGGER)),
    ShelfPart("passive_infrared", "sensor", "passive infrared module, its output high while warmth moves",
              (("high when tripped", f"{MEMORY}, common modules"), ("settles in 50 ms", PRACTICE),
               ("ready after 60 s", f"{MEMORY}; modules print 30 to 60 s after power"), TRIGGER)),
    ShelfPart("push_button", "sensor", "push button that closes a contact", (CLOSES, BOUNCE, TRIGGER)),
    ShelfPart("reed_switch", "sensor", "reed switch on a cylinder, for an end of its travel: add `sees`",
              (CLOSES, ("settles in 5 ms", f"{PRACTICE}; reeds settle in about 1 ms"), TRIGGER)),
    ShelfPart("stop_mushroom", "sensor", "latching mushroom button whose contact opens when it is struck",
              (OPENS, ("settles in 5 ms", f"{PRACTICE}; a stop should not wait for a slow contact"),
               ("kind stop", MEANING))),
    ShelfPart("alarm_loop", "sensor", "house alarm contact that opens when the alarm sounds",
              (OPENS, ("settles in 20 ms", "this project's own limit for an alarm loop: 20 ms at most"),
               ("kind alarm", MEANING))),
)
