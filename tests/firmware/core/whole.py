"""The whole firmware as a shared library, with a port to it that the link of the tool can be opened on."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import zlib
from collections.abc import Sequence
from enum import IntEnum
from pathlib import Path

from sequencer.board.link import Link
from sequencer.board.profiles import Profile
from sequencer.board.protocol import RATES_BAUD
from tests.firmware.core.bench import CORE

EVERY_FILE = tuple(sorted(path.stem for path in CORE.glob("*.c")))


class Torn(IntEnum):
    """What a write leaves that the power goes in."""

    CLEAN = 0
    ERASED = 1
    HALF_WRITTEN = 2
    WRITTEN = 3


def build_whole(target: Path, profile: Profile, core: Path = CORE, flags: Sequence[str] = ("-O1", "-g")) -> Path:
    """Compiles the core found in the folder `core` with the limits of that board."""
    compiler = shutil.which("gcc")
    assert compiler, "the tests of the firmware need gcc"
    sources = [str(core / f"{name}.c") for name in EVERY_FILE]
    subprocess.run(
        [compiler, "-std=c11", "-shared", "-fPIC", *flags, "-Wall", "-Wextra", f"-DBOARD_KIND={profile.kind}",
         f"-I{core}", str(Path(__file__).with_name("whole_board.c")), *sources, "-o", str(target)],
        check=True,
    )  # fmt: skip
    return target


class Whole:
    """A board in hand. Time stands still but for `run` and for what a port waits."""

    def __init__(self, library: Path, profile: Profile) -> None:
        self.profile = profile
        self._library = ctypes.CDLL(str(library))
        self._library.whole_memory.restype = ctypes.POINTER(ctypes.c_uint8 * profile.eeprom_bytes)
        self._library.whole_start.restype = ctypes.c_bool
        self._library.whole_run.restype = ctypes.c_bool
        self._library.whole_level.restype = ctypes.c_int32
        for name in ("whole_program_crc", "whole_writes", "whole_hear", "whole_waiting", "whole_moved"):
            getattr(self._library, name).restype = ctypes.c_uint32
        self._cells = self._library.whole_memory().contents
        self.ms = 0
        self.powered = False
        self.renew()

    @property
    def memory(self) -> bytes:
        """The lasting memory as it is."""
        return bytes(self._cells)

    @memory.setter
    def memory(self, cells: bytes) -> None:
        assert len(cells) == self.profile.eeprom_bytes
        self._cells[:] = cells

    def renew(self) -> None:
        """A new chip: erased memory that keeps what is written, no cut planned, all pins low."""
        self.memory = b"\xff" * self.profile.eeprom_bytes
        self._library.whole_wear(self.profile.eeprom_bytes)
        self.set_other_rate(0)
        self.plan_cut(0)
        for pin in range(64):
            self.set_pin(pin, False)

    def plan_cut(self, at_write: int, how: Torn = Torn.CLEAN) -> None:
        """The power goes in the write of that number from now, from 1; 0 plans none. Writes are counted anew."""
        self._library.whole_plan_cut(at_write, int(how))

    @property
    def writes(self) -> int:
        """Writes since the last plan."""
        return self._library.whole_writes()

    def wear(self, start: int) -> None:
        """From that address on the memory keeps nothing."""
        self._library.whole_wear(start)

    def start(self, *, watchdog: bool = False, entropy: int = 1) -> bool:
        """Power on; False if it went again before the board was up."""
        self.powered = self._library.whole_start(int(watchdog), entropy)
        return self.powered

    def run(self, ms: int, until_said: bool = False) -> bool:
        """Lets time pass; False if the power went."""
        ran = ctypes.c_uint32(0)
        if self.powered:
            self.powered = self._library.whole_run(ms, until_said, ctypes.byref(ran))
        self.ms += ran.value if self.powered else ms
        return self.powered

    def say(self, data: bytes) -> None:
        """Bytes onto the line to the board."""
        self._library.whole_say(data, len(data))

    def hear(self, most: int) -> bytes:
        """Bytes that the board has sent."""
        room = ctypes.create_string_buffer(max(most, 1))
        count = self._library.whole_hear(room, most)
        return room.raw[:count]

    @property
    def waiting(self) -> int:
        """How many bytes the board has sent that nobody has taken."""
        return self._library.whole_waiting()

    def set_pin(self, pin: int, high: bool) -> None:
        """What an input pin reads."""
        self._library.whole_set_pin(pin, high)

    def set_other_rate(self, rate: int) -> None:
        """Which of the two rates the other end of the line has; where it is another, neither understands the other.
        255: it follows the board."""
        self._library.whole_set_other_rate(rate)

    @property
    def rate(self) -> int:
        """Which of the two rates the line is at: 0 or 1."""
        return self._library.whole_rate()

    def level(self, pin: int) -> int | None:
        """The level of an output pin, None where nothing drives it."""
        level = self._library.whole_level(pin)
        return None if level < 0 else level

    @property
    def moved(self) -> int:
        """How many ticks have changed a pin since the start."""
        return self._library.whole_moved()

    @property
    def program_crc(self) -> int:
        """CRC-32 of the program in RAM that the rules play, 0 where they play none."""
        return self._library.whole_program_crc()

    def link(self) -> Link:
        """A conversation not yet begun."""
        return Link(WholePort(self), "the board in hand", clock=WholeClock(self))


class WholeClock:
    """Time as the board in hand has it."""

    def __init__(self, board: Whole) -> None:
        self._board = board

    def now(self) -> float:
        return self._board.ms / 1000

    def wall_ms(self) -> int:
        return self._board.ms

    def sleep(self, seconds: float) -> None:
        self._board.run(max(1, round(seconds * 1000)))


class WholePort:
    """A port whose other end is the board in hand. What it waits for passes on the board."""

    def __init__(self, board: Whole) -> None:
        self._board = board
        self.timeout: float | None = None
        self.baudrate = RATES_BAUD[0]

    @property
    def in_waiting(self) -> int:
        return self._board.waiting

    def read(self, size: int = 1) -> bytes:
        if not self._board.waiting:
            self._board.run(max(1, round((self.timeout or 0.001) * 1000)), until_said=True)
        return self._board.hear(size)

    def write(self, data: bytes) -> int:
        self._board.set_other_rate(RATES_BAUD.index(self.baudrate))
        self._board.say(data)
        return len(data)

    def reset_input_buffer(self) -> None:
        self._board.hear(1 << 12)

    def close(self) -> None:
        pass


def crc_of(image: bytes) -> int:
    """CRC-32 as `program_crc` tells it."""
    return zlib.crc32(image)
