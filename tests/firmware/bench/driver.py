"""The bench from Python: builds it and the firmware, gives a board power, and is a port for the board link.

Time is the simulated board's own: a `BenchPort` and a `BenchClock` let `sequencer.board.link.Link` talk to the image
as it would over a cable, as fast as the simulator runs. Cycles are the board's; at 16 MHz 16,000 of them are a ms.
"""

from __future__ import annotations

import fcntl
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.profiles import AVR328, AVR2560, Profile

HERE = Path(__file__).parent
FIRMWARE = HERE.parents[2] / "firmware_stub"
BUILD = FIRMWARE / "build"
HZ = 16_000_000
TOOLS = ("make", "cc", "avr-gcc", "avr-objcopy", "avr-size", "avr-nm")
LIBRARY = Path("/usr/include/simavr/sim_avr.h")


def missing_tools() -> list[str]:
    """What this machine lacks of what the bench needs."""
    lacking = [tool for tool in TOOLS if shutil.which(tool) is None]
    return lacking if LIBRARY.exists() else [*lacking, "libsimavr-dev"]


@dataclass(frozen=True, slots=True)
class Chip:
    """What the bench must know of a board beyond its profile."""

    profile: Profile
    mcu: str
    tick_vector: int
    """Number of the overflow interrupt of timer 1, from 0 for reset; data sheets, table of interrupt vectors."""


CHIPS = {"avr328": Chip(AVR328, "atmega328p", 13), "avr2560": Chip(AVR2560, "atmega2560", 20)}


@contextmanager
def locked() -> Iterator[None]:
    """One build at a time, whoever asks."""
    BUILD.mkdir(exist_ok=True)
    with (BUILD / ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def run_tool(*words: str | Path) -> str:
    """What a tool prints. Fails with its words where it fails."""
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, f"{words[0]} failed:\n{done.stdout}{done.stderr}"
    return done.stdout


def build_bench() -> Path:
    """The bench program, built anew where a source of it is newer."""
    sources = sorted(HERE.glob("*.[ch]"))
    program = BUILD / "bench"
    with locked():
        newest = max(path.stat().st_mtime for path in sources)
        if not program.exists() or program.stat().st_mtime < newest:
            flags = ("-std=gnu11", "-D_GNU_SOURCE", "-O2", "-Wall", "-Wextra", "-Wno-unused-parameter", "-Werror")
            code = [path for path in sources if path.suffix == ".c"]
            run_tool("cc", *flags, "-o", program, *code, "-lsimavr", "-lelf", "-lutil")
    return program


def build_firmware(board: str, fault: str | None = None) -> Path:
    """The image of a board as it ships; with `fault`, one of its own with that fault built in (see avr_faults.h)."""
    folder = BUILD if fault is None else BUILD / f"fault_{fault.lower()}"
    with locked():
        words = ["make", "-C", str(FIRMWARE), board, f"BUILD={folder}"]
        if fault is not None:
            words.append(f"FAULT=-DFAULT_{fault}")
        run_tool(*words)
    return folder / f"{board}.elf"


@dataclass(frozen=True, slots=True)
class PinPlace:
    """Where a pin of the profile is on the chip: `D6`; `wide` where its compare value counts a whole tick."""

    name: str
    wide: bool = False

    def level_of(self, value: str) -> int | None:
        """The level 0 to 255 that a value of the bench means, None for a pin that is not driven."""
        if value in "zh":
            return None
        if not value.startswith("p"):
            return 255 * int(value)
        compare = int(value[1:])
        if not self.wide:
            return compare
        return next(level for level in range(256) if level * 63 - level // 4 == compare)


def pins_of(board: str) -> tuple[tuple[PinPlace, ...], tuple[PinPlace, ...]]:
    """Outputs and inputs of a board in the order of their numbers, read from the lists of its C file."""
    text = (FIRMWARE / "boards" / f"{board}.c").read_text(encoding="utf-8")

    def listed(name: str) -> list[str]:
        body = re.search(rf"#define {name}\(X\)((?:.*\\\n)*.*\n)", text)
        assert body, f"no list {name} in {board}.c"
        return re.findall(r"X\(([^)]*)\)", body[1])

    def place(entry: str) -> PinPlace:
        words = [word.strip() for word in entry.split(",")]
        return PinPlace(words[0] + words[1], words[-1] == "IN_TICK")

    outputs = tuple(place(entry) for entry in (*listed("FADING"), *listed("PLAIN")))
    return outputs, tuple(place(entry) for entry in listed("INPUTS"))


@dataclass(frozen=True, slots=True)
class Edge:
    """A pin did something else from this cycle on: 0, 1, z, h or pN as the bench writes them."""

    cycle: int
    pin: str
    value: str


class Bench:
    """One simulated board. Use as a context; `power_on` gives it power."""

    def __init__(self, board: str, image: Path | None = None, *, hz: int = HZ, memory: bytes | None = None) -> None:
        self.board = board
        self.chip = CHIPS[board]
        self.hz = hz
        self.outputs, self.inputs = pins_of(board)
        self.edges: list[Edge] = []
        self.told: list[str] = []
        self.verdicts: list[str] = []
        words = bench_words(board, image, hz=hz)
        self._child = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for address, value in enumerate(memory or b""):
            if value != 0xFF:
                self.do(f"cell {address} {value:02x}")

    def __enter__(self) -> Bench:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Ends the bench."""
        if self._child.poll() is None:
            self._child.stdin.close()
            self._child.stdout.read()
            self._child.wait(timeout=30)
        self._child.stdout.close()

    def do(self, command: str) -> str:
        """One command; what follows `ok`. Events told meanwhile are kept."""
        self._child.stdin.write(command + "\n")
        self._child.stdin.flush()
        while True:
            line = self._child.stdout.readline()
            assert line, f"the bench ended at: {command}"
            kind, _, rest = line.rstrip("\n").partition(" ")
            if kind == "ok":
                return rest
            assert kind != "no:", f"{command}: {rest}"
            self._note(kind, rest)

    def _note(self, kind: str, rest: str) -> None:
        if kind == "e":
            cycle, pin, value = rest.split()
            self.edges.append(Edge(int(cycle), pin, value))
        elif kind.startswith("v"):
            self.verdicts.append(rest)
        else:
            self.told.append(f"{kind} {rest}")

    def power_on(self) -> None:
        self.do("power on")

    def power_off(self) -> None:
        self.do("power off")

    def run_ms(self, ms: float) -> None:
        self.do(f"run {ms}")

    def until_tick(self, tick: int) -> None:
        """Runs until that many ticks have ended since power-up or reset."""
        self.do(f"until-tick {tick}")

    def set_input(self, index: int, high: bool) -> None:
        """Holds an input of the profile at a level, from now on."""
        self.do(f"pin {self.inputs[index].name} {int(high)}")

    def level(self, output: int) -> int | None:
        """The level of an output's pin now; None while it is not driven."""
        return self.outputs[output].level_of(self.do(f"pin {self.outputs[output].name}"))

    def stats(self) -> dict[str, int]:
        """The counters of the bench: cycles, ticks, lost bytes, writes, free stack."""
        return {key: int(value) for key, value in (pair.split("=") for pair in self.do("stats").split())}

    def cells(self) -> bytes:
        """All bytes of the EEPROM."""
        return bytes.fromhex(self.do(f"cells 0 {self.chip.profile.eeprom_bytes}"))

    def resets(self) -> list[int]:
        """The cycles of all resets so far that came from the chip itself."""
        return [int(line.split()[1]) for line in self.told if line.startswith("x ") and line.endswith(" reset")]


@contextmanager
def terminal(bench_words: list[str], folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A board in real time behind a pseudo-terminal: its name, and the process, to whose input commands may be written.

    What the bench tells goes to a file `told` in the folder.
    """
    told = folder / "told"
    with told.open("w") as out:
        child = subprocess.Popen([*bench_words, "--pty"], stdin=subprocess.PIPE, stdout=out, text=True)
    try:
        for _ in range(200):
            found = re.search(r"^pty (\S+)$", told.read_text(), re.MULTILINE)
            if found:
                break
            time.sleep(0.05)
        assert found, "the bench has no pseudo-terminal"
        yield found[1], child
    finally:
        child.stdin.close()
        child.wait(timeout=30)


def bench_words(board: str, image: Path | None = None, *, hz: int = HZ, memory: Path | None = None) -> list[str]:
    """The command that runs the bench on an image, the shipped one where none is named."""
    chip, image = CHIPS[board], image or build_firmware(board)
    words = [
        str(build_bench()), "--mcu", chip.mcu, "--elf", str(image), "--hz", str(hz),
        "--tick-vector", str(chip.tick_vector), "--heap-start", str(_symbol(image, "_end")),
    ]  # fmt: skip
    return [*words, "--memory", str(memory)] if memory else words


def _symbol(image: Path, name: str) -> int:
    listing = run_tool("avr-nm", image)
    return next(int(line.split()[0], 16) & 0xFFFF for line in listing.splitlines() if line.endswith(f" {name}"))


class BenchClock:
    """The link's clock on the time of the bench."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def now(self) -> float:
        return self._bench.stats()["now"] / self._bench.hz

    def wall_ms(self) -> int:
        return round(1000 * self.now())

    def sleep(self, seconds: float) -> None:
        """That long, or a microsecond: who sleeps for less than a cycle again and again would never wake."""
        self._bench.run_ms(max(1000 * seconds, 0.001))


class BenchPort:
    """A serial port at whose other end the simulated board is; has what the link asks of a port."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._kept = b""
        self._baud = 115_200
        self.timeout: float | None = None

    @property
    def baudrate(self) -> int:
        return self._baud

    @baudrate.setter
    def baudrate(self, baud: int) -> None:
        self._baud = baud
        self._bench.do(f"baud {baud}")

    def _take(self) -> None:
        self._kept += bytes.fromhex(self._bench.do("take"))

    @property
    def in_waiting(self) -> int:
        self._take()
        return len(self._kept)

    def read(self, size: int = 1) -> bytes:
        """Up to `size` bytes; waits the time-out, in the time of the bench, for the first of them."""
        self._take()
        if not self._kept and self.timeout:
            self._bench.do(f"until-byte {1000 * self.timeout}")
            self._take()
        data, self._kept = self._kept[:size], self._kept[size:]
        return data

    def write(self, data: bytes) -> int:
        self._bench.do(f"send {data.hex()}")
        return len(data)

    def reset_input_buffer(self) -> None:
        self._take()
        self._kept = b""

    def close(self) -> None:
        """Nothing to let go of: the bench is closed by whoever made it."""
