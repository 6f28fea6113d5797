"""A board that is a program on a computer: the same rules, its memory a file. It drives no real valve."""

from __future__ import annotations

from sequencer.board.profiles.shape import Profile, row_of_pins
from sequencer.steps import Limits

HOST = Profile(
    name="host",
    kind=3,
    label="a process on this computer",
    pins=row_of_pins(fading=16, plain=48, inputs=16),
    eeprom_bytes=32_768 + 64,
    limits=Limits(
        program_bytes=16_384,
        routines_running=16,
        frames=4,
        steps_per_tick=16,
        outputs=64,
        inputs=16,
        routines=128,
        work_bytes=18_496,
    ),
    write_ms_per_byte=0.0,
    log_entries=256,
)
