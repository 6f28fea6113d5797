"""The small board: an ATmega328P at 16 MHz with 2 KB of RAM and 1 KB of EEPROM."""

from __future__ import annotations

from sequencer.board.profiles.shape import Profile, row_of_pins
from sequencer.steps import Limits

AVR328 = Profile(
    name="avr328",
    kind=1,
    label="ATmega328P, 16 MHz",
    pins=row_of_pins(fading=6, plain=6, inputs=6),
    eeprom_bytes=1024,
    # Steps a tick: at 83 to 144 cycles a step (a prototype) 8 routines of 8 steps in one tick would take up to
    # 9,216 of its 16,000 cycles. That is a cap; the cycles of a given program are for the compiler to bound.
    # 480 bytes a slot. A table plays from RAM, so it is also RAM spent. 24 routines at about 10 bytes of
    # state each, 8 running slots at about 50: both assumed, to be measured on the built firmware.
    limits=Limits(
        program_bytes=480,
        routines_running=8,
        frames=4,
        steps_per_tick=8,
        outputs=12,
        inputs=6,
        routines=24,
        work_bytes=700,
    ),
    # ATmega328P data sheet, table "EEPROM programming time": 3.3 to 3.4 ms for erase and write, from memory.
    write_ms_per_byte=3.4,
    log_entries=16,
)
