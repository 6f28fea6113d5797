"""What the image is measured by: worst tick, edge jitter, stack, upload, stop, hang, clock. One function each.

Every function runs the shipped image on the bench and gives what it measured; nothing here knows what is asked for.
"""

from __future__ import annotations

import random
import statistics
from dataclasses import dataclass

from sequencer.board.flash import flash
from sequencer.board.link import Link
from sequencer.board.protocol import STATE
from sequencer.board.settings import TRIM_UNIT
from sequencer.board.tuning import MEASURE_S, tune
from sequencer.steps import Program, encode
from tests.firmware.bench.board import Packets, linked, memory_with
from tests.firmware.bench.driver import CHIPS, HZ, Bench, BenchClock, BenchPort, build_firmware, run_tool
from tests.firmware.bench.programs import ALARM, STOP, TRIGGER, all_on, busy, one_pulse

TICK = HZ // 1000


def powered(program: Program, board: str = "avr328", *, hz: int = HZ, trim: int | None = 0) -> tuple[Bench, Link]:
    """A board that holds the program, under power, its inputs clear, greeted."""
    bench = Bench(board, memory=memory_with(CHIPS[board].profile, encode(program), trim=trim), hz=hz)
    for pin, high in ((TRIGGER, True), (STOP, True), (ALARM, False)):
        bench.set_input(pin, high)
    bench.power_on()
    bench.run_ms(150)
    return bench, linked(bench)


def _fire(bench: Bench, link: Link) -> None:
    link.arm()
    bench.set_input(TRIGGER, False)
    bench.run_ms(5)


@dataclass(frozen=True, slots=True)
class Load:
    """Ticks of a busy board, in cycles: the worst, the mean, when disarmed, and that in which all eight routines start
    at one trigger; lost bytes; late ticks; free stack in bytes; requests answered."""

    worst: int
    mean: int
    idle: int
    start: int
    overruns: int
    missed: int
    free_stack: int
    answered: int


def load(steps_a_tick: int = 2, board: str = "avr328", seconds: float = 3.0) -> Load:
    """Eight routines, all outputs in fades, flickers and flashes, and requests as fast as the line can carry them."""
    bench, link = powered(busy(CHIPS[board].profile, steps_a_tick), board)
    with bench:
        bench.do("tell nothing")
        bench.do("clear-worst")
        bench.run_ms(200)
        idle = bench.stats()["worst"]
        link.arm()
        packets = Packets()
        bench.do(f"send {packets.greeting().hex()}")
        bench.run_ms(10)
        bench.do("clear-worst")
        bench.set_input(TRIGGER, False)
        bench.run_ms(20)
        start = bench.stats()["worst"]
        bench.do("clear-worst")
        before = bench.stats()["missed"]
        answered, end = 0, bench.stats()["now"] + seconds * bench.hz
        while bench.stats()["now"] < end:
            # The next request follows its forerunner's answer at once: the line never rests, half-duplex as it is.
            bench.do(f"ask 100 {packets.make(STATE).hex()}")
            answered += 1
        stats = bench.stats()
        return Load(
            stats["worst"], stats["mean"], idle, start, stats["overruns"], stats["missed"] - before,
            stats["free_stack"], answered,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Jitter:
    """Where in its tick an edge came, in cycles from the first tick's interrupt: earliest and latest."""

    earliest: int
    latest: int
    edges: int

    @property
    def cycles(self) -> int:
        return self.latest - self.earliest


def jitter(board: str = "avr328", seconds: float = 2.0) -> Jitter:
    """Of one output that flashes while everything else is at work and the link is loaded."""
    profile = CHIPS[board].profile
    bench, link = powered(busy(profile), board)
    with bench:
        link.arm()
        packets = Packets()
        bench.do(f"send {packets.greeting().hex()}")
        bench.run_ms(10)
        bench.set_input(TRIGGER, False)
        pin = bench.outputs[len(profile.outputs) - 4].name  # one that flashes
        first, end = bench.stats()["first"], bench.stats()["now"] + seconds * bench.hz
        while bench.stats()["now"] < end:
            bench.do(f"ask 100 {packets.make(STATE).hex()}")
        places = [(edge.cycle - first) % TICK for edge in bench.edges if edge.pin == pin and edge.cycle > first]
    return Jitter(min(places), max(places), len(places))


@dataclass(frozen=True, slots=True)
class Speed:
    """An upload: bytes written to the EEPROM, s of it all, bytes a s, and the share of what the EEPROM allows."""

    written: int
    seconds: float

    @property
    def rate(self) -> float:
        return self.written / self.seconds

    @property
    def share(self) -> float:
        return self.rate * CHIPS["avr328"].profile.write_ms_per_byte / 1000


def upload_speed(image: bytes, board: str = "avr328") -> Speed:
    """From the opening of an upload to its being verified, on an erased memory so that every byte is written."""
    with Bench(board, memory=memory_with(CHIPS[board].profile)) as bench:
        bench.power_on()
        bench.run_ms(150)
        link = linked(bench)
        before, writes = bench.stats()["now"], bench.stats()["writes"]
        link.upload(image, CHIPS[board].profile.kind)
        stats = bench.stats()
        return Speed(stats["writes"] - writes, (stats["now"] - before) / bench.hz)


def flash_seconds(image: bytes, board: str = "avr328") -> float:
    """All that `flash` does, reading back included."""
    with Bench(board, memory=memory_with(CHIPS[board].profile)) as bench:
        bench.power_on()
        bench.run_ms(150)
        before = bench.stats()["now"]
        link = Link(BenchPort(bench), "the bench", clock=BenchClock(bench))
        link.identify()
        flash(link, image, CHIPS[board].profile)
        return (bench.stats()["now"] - before) / bench.hz


def stop_ms(moments: int = 16) -> float:
    """The longest from a stop input to the last output safe, in ms, with eight routines running."""
    worst = 0.0
    bench, link = powered(all_on())
    with bench:
        for moment in range(moments):
            bench.set_input(STOP, True)
            bench.set_input(TRIGGER, True)
            bench.run_ms(20)
            _fire(bench, link)
            bench.run_ms(10 + moment / moments)
            pressed = bench.stats()["now"]
            bench.set_input(STOP, False)
            bench.run_ms(20)
            worst = max(worst, *((edge.cycle - pressed) / TICK for edge in bench.edges if edge.cycle >= pressed))
    return worst


def hang_ms(moments: int = 10) -> float:
    """The longest from a program that hangs, in its tick or outside, to all pins floating, in ms."""
    times = []
    for moment in range(moments):
        bench, link = powered(all_on())
        with bench:
            _fire(bench, link)
            bench.run_ms(random.Random(moment).uniform(1, 40))
            bench.do("wedge main" if moment % 2 else "wedge tick")
            hung = bench.stats()["now"]
            bench.run_ms(200)
            times.append((bench.resets()[0] - hung) / TICK)
    return max(times)


@dataclass(frozen=True, slots=True)
class Clock:
    """A clock that is off: by what share, what `tune` found, and how late or early the end of a sound's length was."""

    off: float
    found: float
    before_ms: float
    after_ms: float
    seconds: float

    @property
    def left_ppm(self) -> float:
        return 1e6 * abs(self.after_ms) / 1000 / self.seconds


def clock_left(off: float = 0.005, seconds: float = 600.0, measure_s: float = MEASURE_S) -> Clock:
    """A board whose clock is fast by `off`: an output on for `seconds` by the board's count, timed by true time."""
    hz = round(HZ * (1 + off))
    bench, link = powered(one_pulse(round(1000 * seconds)), hz=hz, trim=None)
    with bench:
        found = tune(link, measure_s, BenchClock(bench))
        link.arm()
        bench.set_input(TRIGGER, False)
        bench.run_ms(1000 * seconds * 1.01 + 50)
        name = bench.outputs[6].name
        on, off_at = [edge.cycle for edge in bench.edges if edge.pin == name][-2:]
    length = (off_at - on) / hz
    untrimmed = seconds / (1 + off)
    assert abs(found.after * TRIM_UNIT) < 0.02
    return Clock(off, found.found.error, 1000 * (untrimmed - seconds), 1000 * (length - seconds), seconds)


@dataclass(frozen=True, slots=True)
class Size:
    """Bytes: of flash, of RAM given to variables, of RAM in all."""

    flash: int
    ram: int
    ram_there: int


RAM_BYTES = {"avr328": 2048, "avr2560": 8192}
"""ATmega328P and ATmega2560 data sheets, SRAM."""


def size(board: str) -> Size:
    """As the linker says of the shipped image."""
    listing = run_tool("avr-size", "-A", "-d", build_firmware(board))
    parts = (line.split() for line in listing.splitlines() if line.startswith("."))
    rows = {words[0]: int(words[1]) for words in parts}
    ram = sum(rows.get(name, 0) for name in (".data", ".bss", ".noinit"))
    return Size(rows[".text"] + rows.get(".data", 0), ram, RAM_BYTES[board])


def pace(program: Program | None = None, seconds: float = 20.0) -> float:
    """How many times real time the bench runs a board at work."""
    import time

    bench, link = powered(program or busy())
    with bench:
        bench.do("tell nothing")
        _fire(bench, link)
        rounds = []
        for _ in range(3):
            started = time.perf_counter()
            bench.run_ms(1000 * seconds / 3)
            rounds.append(seconds / 3 / (time.perf_counter() - started))
    return statistics.median(rounds)
