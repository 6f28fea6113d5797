"""The large board: an ATmega2560 at 16 MHz with 8 KB of RAM and 4 KB of EEPROM."""

from __future__ import annotations

from sequencer.board.profiles.shape import Profile, row_of_pins
from sequencer.steps import Limits

AVR2560 = Profile(
    name="avr2560",
    kind=2,
    label="ATmega2560, 16 MHz",
    pins=row_of_pins(fading=12, plain=28, inputs=14),
    eeprom_bytes=4096,
    # The same processor as the small board, so the same steps a tick; more RAM, so more routines.
    limits=Limits(
        program_bytes=2016,
        routines_running=16,
        frames=4,
        steps_per_tick=8,
        outputs=40,
        inputs=14,
        routines=64,
        work_bytes=3424,
    ),
    write_ms_per_byte=3.4,
    log_entries=64,
)
