"""The built-in virtual board as a port of pyserial's URL interface: `virtual://NAME?option=value`.

Bytes written go to a `Firmware`, its answers are there to be read: every command works as on a real port. Its
memory is a file, its past since it came up a journal beside it (see `journal`), so that arming, tripping and
reading the log may be three commands. It runs on between them by the time of day. A board that nobody has
looked at for a quarter of an hour has lost its power, so that none is found armed the day after.

Options: `board=` a profile's name (avr328 where there is no file yet), `file=` the memory file, `seed=` of
the random waits, `rate=` the only baud it hears (any, where not said), `power=` off (it hears nothing), cycle
(cut and given back) or watchdog (reset by its watchdog).
"""

from __future__ import annotations

import errno
import os
import secrets
import sys
import urllib.parse
from dataclasses import dataclass
from pathlib import Path

from serial.serialutil import PortNotOpenError, SerialBase, SerialException

from sequencer.board.clock import Clock, ComputerClock
from sequencer.board.firmware import BoardStart, Firmware, judge_trial
from sequencer.board.journal import BadJournal, Journal, Life
from sequencer.board.log import LogRing, StartCause
from sequencer.board.memory import FileMemory, PowerCut
from sequencer.board.profiles import AVR328, PROFILES, Profile, profile_by_name
from sequencer.board.store import Store

SCHEME = "virtual"
KEEPS_POWER_MS = 15 * 60 * 1000
"""How long the board stays under power with no port open, in ms. Bounds what a replay can take."""


@dataclass(frozen=True, slots=True)
class Options:
    """What a URL says."""

    name: str
    profile: Profile
    file: Path
    seed: int | None = None
    rate: int | None = None
    power: str = "on"


def options_of(url: str) -> Options:
    """The options of a URL. Raises ValueError with a sentence for one that is not understood."""
    parts = urllib.parse.urlsplit(url)
    if parts.scheme != SCHEME or parts.path not in ("", "/"):
        raise ValueError("a virtual board is written virtual://NAME")
    name = parts.netloc or "board"
    if not all(char.isalnum() or char in "_-" for char in name):
        raise ValueError(f"the name {name!r} takes letters, digits, `_` and `-` only")
    said = dict(urllib.parse.parse_qsl(parts.query, keep_blank_values=True))
    if unknown := set(said) - {"board", "file", "seed", "rate", "power"}:
        raise ValueError(f"there is no option {sorted(unknown)[0]!r}")
    power = said.get("power", "on")
    if power not in ("on", "off", "cycle", "watchdog"):
        raise ValueError(f"power is on, off, cycle or watchdog, not {power!r}")
    file = Path(said["file"]) if "file" in said else state_folder() / f"{name}.eeprom"
    numbers = {key: _whole_number(key, said[key]) for key in ("seed", "rate") if key in said}
    return Options(name, _profile_for(said.get("board"), file), file, numbers.get("seed"), numbers.get("rate"), power)


def _whole_number(key: str, text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 0 < int(text) < 1 << 32:
        raise ValueError(f"{key} takes a whole number from 1, not {text!r}")
    return int(text)


def _profile_for(name: str | None, file: Path) -> Profile:
    """The profile named; else the one whose memory is as large as the file; else the small board.

    Raises ValueError for one there is none of, and where the file is another kind's.
    """
    kept = file.stat().st_size if file.is_file() else None
    made = next((profile for profile in PROFILES if profile.eeprom_bytes == kept), None)
    if name is None:
        if kept is not None and made is None:
            raise ValueError(f"its memory file {file} has {kept} bytes, which fits no kind of board; remove that file")
        return made or AVR328
    profile = profile_by_name(name)
    if profile is None:
        raise ValueError(f"there is no board {name!r}; there are {', '.join(one.name for one in PROFILES)}")
    if kept not in (None, profile.eeprom_bytes):
        was = f"was made as {made.name}" if made else f"has a memory of {kept} bytes"
        raise ValueError(
            f"this virtual board {was} and is no {name}; name another board, or remove its memory file {file}"
        )
    return profile


def state_folder(system: str = sys.platform) -> Path:
    """The folder of this user's virtual boards."""
    if system == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif system == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    return base / "prop-sequencer"


def lock_file(url: str) -> Path:
    """The file that an open virtual board holds locked."""
    file = options_of(url).file
    return file.with_name(file.name + ".lock")


class Serial(SerialBase):
    """A port with a virtual board at its other end. `clock` may be a test's own."""

    def __init__(self, *args: object, clock: Clock | None = None, **kwargs: object) -> None:
        self._clock: Clock = clock or ComputerClock()
        self._answers = bytearray()
        self._firmware: Firmware | None = None
        self._memory: FileMemory | None = None
        self._journal: Journal | None = None
        self._lock: int | None = None
        self._plugged = True
        self._cancelled = False
        self._powered_ms = 0
        super().__init__(*args, **kwargs)

    # The names below are the serial library's.

    def open(self) -> None:
        """Locks the memory file and brings the board to where it is by now. Raises SerialException."""
        if self._port is None:
            raise SerialException("Port must be configured before it can be used.")
        if self.is_open:
            raise SerialException("Port is already open.")
        try:
            self._options = options_of(self._port)
        except ValueError as fault:
            raise SerialException(str(fault)) from fault
        self._options.file.parent.mkdir(parents=True, exist_ok=True)
        self._lock = _locked(lock_file(self._port))
        try:
            self._memory = FileMemory(self._options.file, self._options.profile.eeprom_bytes)
            self._journal = Journal(self._options.file.with_name(self._options.file.name + ".journal"))
            self._power_as_asked()
        except (OSError, ValueError) as fault:
            self._let_go()
            number = getattr(fault, "errno", None)
            raise (SerialException(str(fault)) if number is None else SerialException(number, str(fault))) from fault
        self._plugged = True
        self.is_open = True

    def close(self) -> None:
        """Lets go of the file; the board runs on by the time of day."""
        if self.is_open:
            self._catch_up()
            if self._firmware is not None and self._journal is not None:
                self._journal.seen(self._firmware.machine.tick)
            self.is_open = False
            self._let_go()

    def _reconfigure_port(self) -> None:
        """Nothing to set: what the rate does is looked at when bytes come."""

    def _update_dtr_state(self) -> None:
        """DTR resets nothing here."""

    def _update_rts_state(self) -> None:
        """RTS resets nothing here."""

    @property
    def in_waiting(self) -> int:
        self._look()
        return len(self._answers)

    def read(self, size: int = 1) -> bytes:
        """Up to `size` bytes; waits the time-out for what has not come, as a port does."""
        self._look()
        self._cancelled = False
        if len(self._answers) < size and self._timeout != 0:
            # Nothing comes but as an answer to what is written, so the whole time-out passes.
            while self._timeout is None and not self._cancelled and self.is_open:
                self._clock.sleep(0.05)
            if self._timeout:
                self._clock.sleep(self._timeout)
        data = bytes(self._answers[:size])
        del self._answers[:size]
        return data

    def write(self, data: bytes) -> int:
        """Hands bytes to the board and takes in its answers."""
        self._look()
        heard = self._options.rate in (None, self._baudrate)
        self._catch_up()
        if self._firmware is not None and heard:
            try:
                self._answers += self._firmware.receive(bytes(data))
            except PowerCut:
                self.cut_power()
        return len(data)

    def flush(self) -> None:
        """Nothing waits to be sent."""

    def cancel_read(self) -> None:
        self._cancelled = True

    def reset_input_buffer(self) -> None:
        self._look()
        self._answers.clear()

    def reset_output_buffer(self) -> None:
        self._look()

    # What a hand at the board can do.

    def cut_power(self) -> None:
        """Takes the power away: all is forgotten but the memory."""
        self._firmware = None
        self._answers.clear()
        if self._journal is not None:
            self._journal.forget()

    def give_power(self, cause: StartCause = StartCause.POWER) -> None:
        """Gives power, as at first."""
        assert self._memory is not None and self._journal is not None
        store = Store(self._memory)
        judge_trial(store, cause)
        live = store.live()
        seed = self._options.seed or secrets.randbits(32) or 1
        start = BoardStart(cause, seed, LogRing(self._options.profile.log_entries))
        self.started(start, live.crc if live else 0)
        self._firmware = Firmware(self._options.profile, store, start)
        self._firmware.recorder = self

    def unplug(self) -> None:
        """Pulls the cable: every later use of the port fails, as on a real one."""
        self._plugged = False

    def set_input(self, index: int, level_high: bool) -> None:
        """Puts input `index` of the live program to a raw level, as its sensor would."""
        self._catch_up()
        if self._firmware is not None:
            self._firmware.set_input(index, level_high)

    @property
    def firmware(self) -> Firmware | None:
        """The board itself, brought up to now, for a console that shows it; None without power."""
        self._catch_up()
        return self._firmware

    @property
    def memory(self) -> FileMemory:
        """The memory, whose `before_write` may cut the power."""
        assert self._memory is not None
        return self._memory

    # What the board's firmware tells, noted with the time of day.

    def started(self, start: BoardStart, program_crc: int) -> None:
        """Begins the journal anew when the board does, on a new program."""
        assert self._journal is not None
        self._powered_ms = self._clock.wall_ms()
        self._journal.time_is(self._powered_ms)
        self._journal.started(start, program_crc)

    def acted(self, tick: int, action: tuple[str, tuple[int, ...]]) -> None:
        """Notes what reached the rules."""
        assert self._journal is not None
        self._journal.acted(tick, action)

    def _power_as_asked(self) -> None:
        assert self._journal is not None
        if self._options.power == "off":
            self.cut_power()
            return
        life = self._life() if self._options.power == "on" else None
        if life is None:
            watchdog = self._options.power == "watchdog"
            self.give_power(StartCause.WATCHDOG if watchdog else StartCause.POWER)
        else:
            self._live_again(life)

    def _life(self) -> Life | None:
        """The board's life so far, or None where it has lost its power since, or its memory is another."""
        assert self._journal is not None and self._memory is not None
        try:
            life = self._journal.life(self._options.profile.log_entries)
        except BadJournal:
            return None
        if life is None:
            return None
        live = Store(self._memory).live()
        if life.program_crc != (live.crc if live else 0):
            return None
        unseen = self._clock.wall_ms() - life.started_ms - life.last_tick
        return life if 0 <= unseen <= KEEPS_POWER_MS else None

    def _live_again(self, life: Life) -> None:
        assert self._memory is not None
        self._powered_ms = life.started_ms
        firmware = Firmware(self._options.profile, Store(self._memory), life.start)
        for tick, action in life.actions:
            firmware.advance(tick)
            firmware.perform(action)
        firmware.recorder = self
        self._firmware = firmware
        self._catch_up()

    def _catch_up(self) -> None:
        """Runs the board up to now."""
        if self._firmware is not None:
            self._firmware.advance(max(0, self._clock.wall_ms() - self._powered_ms))

    def _look(self) -> None:
        if not self.is_open:
            raise PortNotOpenError()
        if not self._plugged:
            raise SerialException("the device went away")

    def _let_go(self) -> None:
        if self._memory is not None:
            self._memory.close()
        if self._lock is not None:
            os.close(self._lock)
        self._firmware = self._memory = self._journal = self._lock = None
        self._answers.clear()


def _locked(path: Path) -> int:
    """A descriptor that holds this file locked until it is closed. Raises SerialException, errno EAGAIN."""
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as fault:
        os.close(descriptor)
        raise SerialException(errno.EAGAIN, "another program has this virtual board open") from fault
    return descriptor
