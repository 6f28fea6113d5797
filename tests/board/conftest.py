"""Small programs, a clock that only tests move, and virtual boards in a folder of their own."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import pytest

from sequencer.board.link import Link
from sequencer.board.ports import open_port
from sequencer.board.profiles import AVR328, Profile
from sequencer.steps import (
    Input,
    InputKind,
    Output,
    Program,
    Routine,
    Start,
    Step,
    encode,
)  # fmt: skip


class HandClock:
    """Time that passes only when somebody sleeps or a test says so."""

    def __init__(self) -> None:
        self.seconds = 1_000.0

    def now(self) -> float:
        return self.seconds

    def wall_ms(self) -> int:
        return 1_790_000_000_000 + round(self.seconds * 1000)

    def sleep(self, seconds: float) -> None:
        self.seconds += seconds


def lunge(show_id: int = 1, hold: int = 200, kind: int = AVR328.kind) -> Program:
    """On the doormat: the shove is on for `hold` ticks, the eyes fade. A mushroom button stops all."""
    steps = (
        Step("set", (0, 1)),
        Step("fade", (1, 255, 100)),
        Step("wait", (hold,)),
        Step("set", (0, 0)),
        Step("level", (1, 0)),
        Step("end"),
    )
    return Program(
        board=kind,
        show_id=show_id,
        outputs=(Output(pin=6), Output(pin=0, fades=True)),
        inputs=(Input(pin=1), Input(pin=0, kind=InputKind.STOP), Input(pin=2, kind=InputKind.ALARM)),
        routines=(Routine(steps=steps, starts=(Start(0),)),),
    )


def long_program(length: int, kind: int) -> Program:
    """A program whose image is of that length: waits of two bytes in a routine that nothing starts, no two alike."""
    program = lunge(kind=kind)
    steps: list[Step] = []
    at = len(encode(replace(program, routines=(Routine(steps=(Step("end"),)),))))
    while at < length:
        if length - at == 1:
            steps.append(Step("set", (0, 1)))
            at += 1
        else:
            steps.append(Step("wait", (1 + len(steps) * 74 % 4_094,)))
            at += 2
    return replace(program, routines=(Routine(steps=(*steps, Step("end"))),))


@dataclass
class Bench:
    """A folder of virtual boards and a clock they go by."""

    folder: object
    clock: HandClock = field(default_factory=HandClock)
    open_ports: list = field(default_factory=list)

    def url(self, name: str = "box", **options: object) -> str:
        said = {"file": self.folder / f"{name}.eeprom", "board": "avr328", "seed": 7} | options
        return f"virtual://{name}?" + "&".join(f"{key}={value}" for key, value in said.items())

    def port(self, name: str = "box", **options: object):
        port = open_port(self.url(name, **options), self.clock)
        self.open_ports.append(port)
        return port

    def link(self, name: str = "box", **options: object) -> Link:
        link = Link(self.port(name, **options), name, clock=self.clock)
        link.identify()
        return link

    def loaded(self, program: Program | None = None, profile: Profile = AVR328, **options: object) -> Link:
        """A link to a board that runs this program, confirmed."""
        link = self.link(board=profile.name, **options)
        link.upload(encode(program or lunge(kind=profile.kind)), profile.kind)
        link.commit()
        link.confirm()
        return link

    def wait(self, seconds: float) -> None:
        self.clock.sleep(seconds)


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    for port in made.open_ports:
        port.close()


@pytest.fixture
def programs():
    """The makers of programs: a short one, and one of a wanted length."""

    class Programs:
        lunge = staticmethod(lunge)
        of_length = staticmethod(long_program)

    return Programs


class FaultyPort:
    """A port whose line drops, doubles, flips and delays bytes, each way, at the given chance a byte."""

    def __init__(self, port, clock: HandClock, rng, chance: float) -> None:
        self.port, self.clock, self.rng, self.chance = port, clock, rng, chance
        self.timeout = 0.0
        self.faults = 0
        self._going: list[tuple[float, int]] = []
        self._coming: list[tuple[float, int]] = []

    @property
    def baudrate(self) -> int:
        return self.port.baudrate

    @baudrate.setter
    def baudrate(self, rate: int) -> None:
        self.port.baudrate = rate

    @property
    def in_waiting(self) -> int:
        self._move()
        return sum(due <= self.clock.now() for due, _ in self._coming)

    def write(self, data: bytes) -> int:
        self._spoil(data, self._going)
        self._move()
        return len(data)

    def read(self, size: int = 1) -> bytes:
        until = self.clock.now() + (self.timeout or 0.0)
        while self.in_waiting < size and self.clock.now() < until:
            self.clock.sleep(0.002)
        count = min(size, self.in_waiting)
        data = bytes(byte for _, byte in self._coming[:count])
        del self._coming[:count]
        return data

    def reset_input_buffer(self) -> None:
        self._coming.clear()

    def close(self) -> None:
        self.port.close()

    def _spoil(self, data: bytes, line: list[tuple[float, int]]) -> None:
        """Puts bytes on a line, in order: a delayed byte holds up those behind it."""
        late = line[-1][0] if line else 0.0
        for byte in data:
            late = max(late, self.clock.now())
            fault = self.rng.choice(["drop", "double", "flip", "delay"]) if self.rng.random() < self.chance else ""
            self.faults += bool(fault)
            late += self.rng.uniform(0.001, 0.3) if fault == "delay" else 0.0
            byte ^= 1 << self.rng.randrange(8) if fault == "flip" else 0
            line.extend([(late, byte)] * {"drop": 0, "double": 2}.get(fault, 1))

    def _move(self) -> None:
        arrived = bytes(byte for due, byte in self._going if due <= self.clock.now())
        del self._going[: len(arrived)]
        if arrived:
            self.port.write(arrived)
        self._spoil(self.port.read(self.port.in_waiting), self._coming)


@pytest.fixture
def faulty():
    """The port with a bad line."""
    return FaultyPort
