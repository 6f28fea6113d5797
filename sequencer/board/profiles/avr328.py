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
    # Steps a tick: 8 routines of 8 plain writes in one tick take some 8,500 of its 16,000 cycles, measured, see
    # firmware_stub/README.md. That is a cap; what a given program takes at most is for `steps.cycles` to say.
    # 480 bytes a slot. A table plays from RAM, so it is also RAM spent, as are 7 bytes of state for each routine.
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
