"""The host's side of the link: one method a request, each answered, refused or failed with its name.

One request is in flight at a time. It is asked up to 6 times, each time waiting twice as long, at 115,200
baud and then at 38,400; the board does a repeated request once and answers it again. What the answers mean
for a show is left to the caller. Nothing here arms a board by itself.
"""

from __future__ import annotations

import secrets
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from sequencer.board.clock import Clock, ComputerClock
from sequencer.board.errors import BoardRefused, BoardSilent, OtherVersion, Unplugged, VerifyFailed
from sequencer.board.frames import (
    MOST_BODY_BYTES,
    Answer,
    BrokenFrame,
    Request,
    Value,
    decode_answer,
    decode_request,
    encode_request,
    unpack,
)  # fmt: skip
from sequencer.board.framing import PacketReader, wrap
from sequencer.board.log import ENTRY_BYTES, LogEntry, unpack_entry
from sequencer.board.protocol import (
    ARM,
    CLOSE_UPLOAD,
    COMMIT,
    CONFIRM,
    DISARM,
    DRIVE,
    HEARTBEAT,
    IDENTIFY,
    LEVELS,
    OPEN_UPLOAD,
    PIECE,
    PROTOCOL_VERSION,
    RATES_BAUD,
    READ_BACK,
    READ_LOG,
    REFUSAL_FIELDS,
    RESET_ALARM,
    SEQUENCES,
    STATE,
    TRIM,
    TRIP,
    FrameSpec,
)  # fmt: skip
from sequencer.board.store import Standing
from sequencer.steps import Limits, Mode
from sequencer.steps.layout import FORMAT_VERSION

FIRST_WAIT_S = 0.025
"""Wait for the first answer, in s: USB adapters hold bytes back for up to 16 ms (from memory)."""
WAIT_A_BYTE_WRITTEN_S = 0.004
"""Added for each byte that the request may have the board write; an AVR takes 3.4 ms."""
TRIES = 6
"""Times a request is asked at one rate: 25 ms doubled six times is 1.6 s, and twice that at both rates; a boot
loader waits 1 to 2 s (from memory)."""
LEAST_TRIP_TICKS = 100
"""How long `trip` holds an input, in ms, unless told: longer than the usual settle times."""

Progress = Callable[[int, int], None]
"""Is told how many bytes are done, of how many."""


class Port(Protocol):
    """What the link asks of a serial port; pyserial's ports have it."""

    timeout: float | None
    baudrate: int

    @property
    def in_waiting(self) -> int: ...

    def read(self, size: int = 1) -> bytes: ...

    def write(self, data: bytes) -> int | None: ...

    def reset_input_buffer(self) -> None: ...

    def close(self) -> None: ...


@dataclass(frozen=True, slots=True)
class Identity:
    """Who the board is."""

    version: int
    kind: int
    firmware: tuple[int, int]
    format_version: int
    free_slots: int
    limits: Limits


@dataclass(frozen=True, slots=True)
class BoardState:
    """What the board is doing. `crc`, `show`, `generation` are of the live program, 0 where there is none."""

    mode: Mode
    tick: int
    length: int
    crc: int
    show: int
    generation: int
    standing: Standing
    uploading: bool
    tripped: tuple[int, ...]
    fault: int
    log_next: int
    random: int


@dataclass(frozen=True, slots=True)
class BoardClock:
    """The board's own time in ms, and the trim it goes by; `kept` is False where it was never given one."""

    tick: int
    trim: int
    kept: bool


@dataclass(frozen=True, slots=True)
class NumberedEntry:
    """A log entry with its number."""

    number: int
    entry: LogEntry


@dataclass(slots=True)
class Traffic:
    """Bytes that went over the line, and requests that had to be asked again."""

    sent: int = 0
    received: int = 0
    repeats: int = 0


class Link:
    """A conversation with the board at the other end of an open port. `name` is the port's, for messages."""

    def __init__(
        self,
        port: Port,
        name: str = "the port",
        *,
        clock: Clock | None = None,
        rates: tuple[int, ...] = RATES_BAUD,
        tries: int = TRIES,
    ) -> None:
        self.port = port
        self.name = name
        self.traffic = Traffic()
        self._clock = clock or ComputerClock()
        self._rates = rates
        self._tries = tries
        self._sequence = 0
        self._reader = PacketReader()

    def close(self) -> None:
        """Lets go of the port."""
        self.port.close()

    def __enter__(self) -> Link:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def identify(self) -> Identity:
        """Begins a conversation and says who answers. Raises OtherVersion, BoardSilent, Unplugged."""
        values = self._ask(IDENTIFY, conversation=secrets.randbits(16), version=PROTOCOL_VERSION)
        counts = {key: _number(value) for key, value in values.items()}
        if counts["format_version"] != FORMAT_VERSION:
            raise OtherVersion(self.name, "step tables", counts["format_version"], FORMAT_VERSION)
        limits = Limits(**{name: counts[name] for name in Limits.__dataclass_fields__})
        firmware = (counts["firmware_major"], counts["firmware_minor"])
        return Identity(
            counts["version"],
            counts["kind"],
            firmware,
            counts["format_version"],
            counts["free_slots"],
            limits,
        )

    def state(self) -> BoardState:
        """What the board is doing."""
        counts = {key: _number(value) for key, value in self._ask(STATE).items()}
        tripped = counts.pop("tripped")
        return BoardState(
            mode=Mode(counts.pop("mode")),
            standing=Standing(counts.pop("standing")),
            uploading=bool(counts.pop("uploading")),
            tripped=tuple(bit for bit in range(16) if tripped >> bit & 1),
            **counts,
        )

    def levels(self, count: int) -> tuple[int, ...]:
        """Levels, 0 to 255, of the first `count` outputs of the live program; fewer where it has fewer."""
        found = b""
        while len(found) < count:
            part = _bytes(self._ask(LEVELS, first=len(found))["levels"])
            if not part:
                break
            found += part
        return tuple(found[:count])

    def arm(self) -> None:
        """Lets inputs start scares. Show the caution `arm` first. Raises BoardRefused with the reason."""
        self._ask(ARM)

    def disarm(self) -> None:
        """Ends all that runs; outputs go to their safe levels."""
        self._ask(DISARM)

    def trip(self, input: int, ticks: int = LEAST_TRIP_TICKS) -> None:
        """Trips input `input` of the live program for `ticks` ms."""
        self._ask(TRIP, input=input, ticks=ticks)

    def drive(self, output: int, level: int, ticks: int = 500) -> None:
        """Drives one output by hand for up to 500 ms; ask again to go on. Show the caution `bench` first."""
        self._ask(DRIVE, output=output, level=level, ticks=ticks)

    def reset_alarm(self) -> None:
        """Clears a latched house alarm, once a stop was worked at the board. Does not arm."""
        self._ask(RESET_ALARM)

    def heartbeat(self) -> None:
        """Says that this computer is there."""
        self._ask(HEARTBEAT)

    def trim(self, keep: int | None = None) -> BoardClock:
        """The board's clock now; with `keep` that trim is kept first, and gone by. See `settings`."""
        values = self._ask(TRIM, keep=int(keep is not None), trim=(keep or 0) & 0xFFFF)
        counts = {key: _number(value) for key, value in values.items()}
        signed = counts["trim"] - (1 << 16) if counts["trim"] >> 15 else counts["trim"]
        return BoardClock(counts["tick"], signed, bool(counts["kept"]))

    def confirm(self) -> None:
        """Ends the trial of the live program."""
        self._ask(CONFIRM)

    def upload(self, image: bytes, kind: int, progress: Progress | None = None) -> None:
        """Sends an image to the slot that is not live and has the board verify it. Nothing becomes live."""
        self._ask(OPEN_UPLOAD, kind=kind, length=len(image), crc=zlib.crc32(image))
        for start in range(0, len(image), MOST_BODY_BYTES):
            piece = image[start : start + MOST_BODY_BYTES]
            self._ask(PIECE, data=piece)
            if progress is not None:
                progress(start + len(piece), len(image))
        self._ask(CLOSE_UPLOAD)

    def commit(self) -> None:
        """Makes the verified upload the live program, on trial."""
        self._ask(COMMIT)

    def read_back(self, length: int, *, upload: bool = False, progress: Progress | None = None) -> bytes:
        """The first `length` bytes of the live program, or of the open upload, from the board's memory."""
        found = b""
        while len(found) < length:
            count = min(MOST_BODY_BYTES, length - len(found))
            part = _bytes(self._ask(READ_BACK, which=int(upload), offset=len(found), count=count)["data"])
            if not part:
                raise VerifyFailed(len(found), length, len(found))
            found += part
            if progress is not None:
                progress(len(found), length)
        return found

    def log(self, first: int | None = None) -> tuple[NumberedEntry, ...]:
        """The log from entry `first`, or all of it, up to now, oldest first."""
        end = self.state().log_next
        found: list[NumberedEntry] = []
        # A number half a turn back is older than any entry kept, so it stands for the oldest.
        wanted = (end - (1 << 15)) % (1 << 16) if first is None else first
        while wanted != end:
            values = self._ask(READ_LOG, first=wanted)
            packed = _bytes(values["entries"])
            number = _number(values["first"])
            for start in range(0, len(packed), ENTRY_BYTES):
                if number == end:
                    break
                found.append(NumberedEntry(number, unpack_entry(packed[start : start + ENTRY_BYTES])))
                number = (number + 1) % (1 << 16)
            if not packed:
                break
            wanted = number
        return tuple(found)

    def _ask(self, spec: FrameSpec, **values: Value) -> dict[str, Value]:
        """The values of the answer to one request."""
        self._sequence = (self._sequence + 1) % SEQUENCES
        packet = encode_request(spec, self._sequence, values)
        request = decode_request(packet)
        wait = FIRST_WAIT_S + WAIT_A_BYTE_WRITTEN_S * (spec.writes + len(_bytes(values.get("data", b""))))
        answer = self._answer_at_some_rate(spec, packet, request, wait)
        if answer.refused:
            no = unpack(REFUSAL_FIELDS, answer.body)
            raise BoardRefused(spec.name, _number(no["code"]), _number(no["detail"]))
        if spec is IDENTIFY and answer.body[:1] != bytes([PROTOCOL_VERSION]):
            raise OtherVersion(self.name, "board link", answer.body[0] if answer.body else 0, PROTOCOL_VERSION)
        try:
            return unpack(spec.answer, answer.body)
        except BrokenFrame:
            raise BoardSilent(self.name, spec.name, 1, (self.port.baudrate,)) from None

    def _answer_at_some_rate(self, spec: FrameSpec, packet: bytes, request: Request, wait: float) -> Answer:
        first = self.port.baudrate if self.port.baudrate in self._rates else self._rates[0]
        rates = (first, *(rate for rate in self._rates if rate != first))
        try:
            for rate in rates:
                if self.port.baudrate != rate:
                    self.port.baudrate = rate
                answer = self._answer(packet, request, wait)
                if answer is not None:
                    return answer
        except OSError as fault:
            # The serial library's own exception is an OSError; an unplug comes without a number.
            if not _nothing_drained(fault):
                raise Unplugged(self.name, spec.name) from fault
        raise BoardSilent(self.name, spec.name, self._tries * len(rates), rates)

    def _answer(self, packet: bytes, request: Request, wait: float) -> Answer | None:
        """The answer to a request at the port's rate, asked as often as it takes, or None."""
        for attempt in range(self._tries):
            # A zero first ends whatever half a frame the board still holds.
            wire = wrap(packet) if attempt == 0 and request.number != IDENTIFY.number else b"\x00" + wrap(packet)
            self.traffic.repeats += attempt > 0
            self.port.write(wire)
            self.traffic.sent += len(wire)
            answer = self._listen(request, wait * 2**attempt)
            if answer is not None:
                return answer
        return None

    def _listen(self, request: Request, wait: float) -> Answer | None:
        until = self._clock.now() + wait
        while (left := until - self._clock.now()) > 0:
            self.port.timeout = left
            data = self.port.read(max(1, self.port.in_waiting))
            self.traffic.received += len(data)
            for packet in self._reader.feed(data):
                try:
                    return decode_answer(request, packet)
                except BrokenFrame:
                    continue
        return None


def _nothing_drained(fault: OSError) -> bool:
    """Whether the port is there and takes no bytes: then nobody listens, and nothing was unplugged."""
    from serial import SerialTimeoutException

    return isinstance(fault, SerialTimeoutException)


def _number(value: Value) -> int:
    assert isinstance(value, int)
    return value


def _bytes(value: Value) -> bytes:
    assert isinstance(value, bytes)
    return value
