"""What a kind of board is: its pins by name, its room, and the limits a program for it must keep.

One file a board stands beside this one and holds one `Profile` value. How a pin name becomes a pin of the
chip is the firmware's affair; here a name becomes the small number that the step tables carry.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sequencer.frozen import frozen
from sequencer.steps import Limits

if TYPE_CHECKING:
    from sequencer.steps.costs import Costs

SLOT_HEADER_BYTES = 16
"""Bytes of the record before each stored program; see `sequencer.board.store`."""
SETTINGS_BYTES = 32
"""Bytes at the end of the memory kept for the board's own settings, such as its clock trim."""


@frozen
class Pin:
    """One pin: its name, its number in the step tables (outputs and inputs count apart), what it can do."""

    name: str
    index: int
    fades: bool
    is_input: bool


@frozen
class Profile:
    """One kind of board. `kind` is the number that a program and the board itself carry."""

    name: str
    kind: int
    label: str
    pins: tuple[Pin, ...]
    eeprom_bytes: int
    limits: Limits
    write_ms_per_byte: float
    """Milliseconds one changed byte takes to write; 0 for a memory that is not an EEPROM."""
    log_entries: int
    """Entries of 8 bytes that the board's log holds in RAM before the oldest give way."""

    @property
    def costs(self) -> Costs | None:
        """What each thing costs the processor; None where nobody has measured it, or nobody waits for it."""
        from sequencer.board.profiles.cycles import COSTS  # only what bounds a tick needs it

        return COSTS.get(self.name)

    @property
    def slot_bytes(self) -> int:
        """Bytes of program each of the two slots holds: the rest of the memory, halved, less its header."""
        return (self.eeprom_bytes - SETTINGS_BYTES) // 2 - SLOT_HEADER_BYTES

    @property
    def outputs(self) -> tuple[Pin, ...]:
        """Pins that drive something, in the order of their numbers."""
        return tuple(pin for pin in self.pins if not pin.is_input)

    @property
    def inputs(self) -> tuple[Pin, ...]:
        """Pins that sense something, in the order of their numbers."""
        return tuple(pin for pin in self.pins if pin.is_input)

    def find_pin(self, name: str) -> Pin | None:
        """The pin of that exact name, or None where this board has none."""
        return next((pin for pin in self.pins if pin.name == name), None)


def row_of_pins(fading: int, plain: int, inputs: int) -> tuple[Pin, ...]:
    """The pins of a board: pwm0.. (fade) are outputs 0.., out0.. follow them; in0.. count from 0 apart."""
    fades = tuple(Pin(f"pwm{n}", n, True, False) for n in range(fading))
    plains = tuple(Pin(f"out{n}", fading + n, False, False) for n in range(plain))
    return fades + plains + tuple(Pin(f"in{n}", n, False, True) for n in range(inputs))
