"""The board's side of the link: bytes in, bytes out, around the rules of `steps` and the two-slot store.

Gives the answers that a real board gives, byte for byte. Clock, memory and line are the caller's: it calls
`advance` before it hands on bytes. Outputs are at their safe level from the start, since the rules begin so;
a program that is missing or does not check leaves the board disarmed and without one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Protocol

from sequencer.board.fitness import Unfit, fit_program
from sequencer.board.frames import (
    MOST_BODY_BYTES,
    BrokenFrame,
    Request,
    Value,
    decode_request,
    encode_answer,
    encode_refusal,
    pack,
    spec_of,
    unpack,
)  # fmt: skip
from sequencer.board.framing import PacketReader, wrap
from sequencer.board.log import LogEntry, LogKind, LogRing, StartCause, entry_of
from sequencer.board.profiles import Profile
from sequencer.board.protocol import IDENTIFY, PROTOCOL_VERSION, SEQUENCES, refusal_named
from sequencer.board.settings import MOST_TRIM, keep_trim, kept_trim
from sequencer.board.store import MemoryWorn, Standing, Store, Stored, Upload
from sequencer.steps import Event, InputKind, Machine, Mode, Program
from sequencer.steps.layout import FORMAT_VERSION
from sequencer.steps.program import ON

FIRMWARE_VERSION = (1, 0)
LONGEST_DRIVE_TICKS = 500
"""A drive by hand ends after this, in ms, unless it is asked for again."""
LOG_ENTRIES_A_FRAME = 6
_NOT_AT_REST = {Mode.ARMED: "armed", Mode.STOPPED: "stopped", Mode.ALARMED: "alarm latched"}

Action = tuple[str, tuple[int, ...]]
"""What reached the rules from outside: a verb of ACTIONS and its numbers."""
ACTIONS = {"arm": 0, "disarm": 0, "press": 2, "drive": 3, "reset": 0, "heartbeat": 0, "input": 2}
"""Verbs, and how many numbers each takes."""


class _Refuse(Exception):
    """A no, raised where it is found and answered in one place."""

    def __init__(self, refusal: str, detail: int = 0) -> None:
        super().__init__(refusal)
        self.refusal, self.detail = refusal, detail


@dataclass(frozen=True, slots=True)
class BoardStart:
    """How a board comes up: why, with which seed, and what its log already holds."""

    cause: StartCause
    seed: int
    log: LogRing


def judge_trial(store: Store, cause: StartCause) -> None:
    """What a board does first under power: a program whose trial ended in a watchdog reset is taken back."""
    live = store.live()
    if cause is StartCause.WATCHDOG and live is not None and live.standing is Standing.ON_TRIAL:
        store.reject(live)


class Recorder(Protocol):
    """Is told what a replay needs to know."""

    def started(self, start: BoardStart, program_crc: int) -> None: ...

    def acted(self, tick: int, action: Action) -> None: ...


class Firmware:
    """One board under power. A `recorder` may be put in at any time."""

    def __init__(self, profile: Profile, store: Store, start: BoardStart) -> None:
        self._profile = profile
        self._store = store
        self.recorder: Recorder | None = None
        self._reader = PacketReader()
        self._conversation: int | None = None
        self._last: tuple[Request, bytes] | None = None
        self._upload: Upload | None = None
        self._verified = False
        self.machine: Machine
        self._begin(start)

    @property
    def live(self) -> Stored | None:
        """The stored program that runs, or None."""
        return self._live

    @property
    def program(self) -> Program | None:
        """The program that runs, or None."""
        return self._program

    @property
    def log(self) -> LogRing:
        """The log so far."""
        return self._log

    def advance(self, tick: int) -> tuple[Event, ...]:
        """Runs every tick before `tick` and logs what happens in them."""
        if tick <= self.machine.tick:
            return ()
        events = self.machine.advance(tick)
        for event in events:
            entry = entry_of(event)
            if entry is not None:
                self._log.add(entry)
                self._fault = entry.value if entry.kind == LogKind.FAULT else self._fault
        return events

    def set_input(self, index: int, level_high: bool) -> None:
        """Puts an input of the program to a raw level, as a sensor would; no such input is nobody's."""
        if self._program is not None and index < len(self._program.inputs):
            self._act("input", index, int(level_high))

    def receive(self, data: bytes) -> bytes:
        """Takes bytes from the line and gives those to send back. Bytes that are no frame get no answer."""
        return b"".join(self._answer(packet) for packet in self._reader.feed(data))

    def perform(self, action: Action) -> str | None:
        """Does to the rules what a recorder was told of; gives the rules' own reason for a no."""
        verb, numbers = action
        machine = self.machine
        does: dict[str, Callable[..., str | None]] = {
            "arm": self._arm_now,
            "disarm": machine.disarm,
            "press": machine.press,
            "drive": self._drive_now,
            "reset": machine.reset_alarm,
            "heartbeat": machine.heartbeat,
            "input": lambda index, high: machine.set_input(index, bool(high)),
        }
        return does[verb](*numbers)

    def _begin(self, start: BoardStart) -> None:
        """Comes up with the live program, disarmed."""
        live = self._store.live()
        if self.recorder is not None:
            self.recorder.started(start, live.crc if live else 0)
        program = None if live is None else fit_program(self._store.image(live), self._profile)
        self._live = live
        self._program = None if isinstance(program, Unfit) else program
        self._fault = 0
        self._log = start.log
        self.machine = Machine(self._program, self._profile.limits, start.seed)
        self._log.add(LogEntry(0, LogKind.POWERED_UP, start.cause, 0 if live is None else live.generation))

    def _act(self, verb: str, *numbers: int) -> str | None:
        if self.recorder is not None:
            self.recorder.acted(self.machine.tick, (verb, numbers))
        return self.perform((verb, numbers))

    def _arm_now(self) -> str | None:
        state, tripped = self.machine.random_state, self._tripped_bits()
        refused = self.machine.arm()
        if refused is None:
            tick = self.machine.tick
            self._log.add(LogEntry(tick, LogKind.RANDOM_LOW, 0, state & 0xFFFF))
            self._log.add(LogEntry(tick, LogKind.RANDOM_HIGH, 0, state >> 16))
            self._log.add(LogEntry(tick, LogKind.TRIPPED, 0, tripped))
        return refused

    def _drive_now(self, output: int, level: int, ticks: int) -> str | None:
        refused = self.machine.drive(output, level, ticks)
        if refused is None:
            self._log.add(LogEntry(self.machine.tick, LogKind.DRIVEN, output, level))
        return refused

    def _answer(self, packet: bytes) -> bytes:
        """The bytes that answer one packet: done once, answered again as often as it is repeated."""
        try:
            request = decode_request(packet)
        except BrokenFrame:
            return b""
        if request.number == IDENTIFY.number:
            self._greet(request)
        elif self._conversation is None:
            return wrap(encode_refusal(request, refusal_named("no conversation").code))
        if self._last is not None:
            last, answer = self._last
            if request.sequence == last.sequence:
                return answer if request.check == last.check else b""
            if request.sequence != (last.sequence + 1) % SEQUENCES:
                return b""
        answer = wrap(self._do(request))
        self._last = (request, answer)
        return answer

    def _greet(self, request: Request) -> None:
        """A new conversation forgets what the one before it left open."""
        conversation = int.from_bytes(request.body[:2], "little")
        if conversation != self._conversation:
            self._conversation = conversation
            self._last = None
            self._upload = None

    def _do(self, request: Request) -> bytes:
        spec = spec_of(request.number)
        try:
            if spec is None:
                raise _Refuse("unknown request")
            handler = getattr(self, "_on_" + spec.name.replace(" ", "_"))
            values = handler(**unpack(spec.request, request.body))
            return encode_answer(request, pack(spec.answer, values or {}))
        except _Refuse as no:
            return encode_refusal(request, refusal_named(no.refusal).code, no.detail)
        except MemoryWorn as worn:
            self._upload = None
            return encode_refusal(request, refusal_named("memory").code, worn.address)
        except BrokenFrame:
            return encode_refusal(request, refusal_named("bad value").code)

    def _on_identify(self, conversation: int, version: int) -> Mapping[str, Value]:
        limits = asdict(self._profile.limits)
        return limits | {
            "version": PROTOCOL_VERSION,
            "kind": self._profile.kind,
            "firmware_major": FIRMWARE_VERSION[0],
            "firmware_minor": FIRMWARE_VERSION[1],
            "format_version": FORMAT_VERSION,
            "free_slots": 2 if self._live is None else 1,
        }

    def _on_open_upload(self, kind: int, length: int, crc: int) -> None:
        if self.machine.mode is Mode.ARMED:
            raise _Refuse("armed")
        if kind != self._profile.kind:
            raise _Refuse("wrong kind", self._profile.kind)
        if length == 0:
            raise _Refuse("bad value")
        if length > self._store.slot_bytes:
            raise _Refuse("too long", self._store.slot_bytes)
        self._upload = self._store.open_upload(length, crc)
        self._verified = False

    def _on_piece(self, data: bytes) -> None:
        upload = self._open_upload()
        if not data or upload.arrived + len(data) > upload.length or self._verified:
            raise _Refuse("bad value")
        self._store.write_piece(upload, data)

    def _on_close_and_verify(self) -> None:
        upload = self._open_upload()
        if upload.arrived < upload.length:
            raise _Refuse("incomplete", upload.arrived)
        if not self._store.upload_is_whole(upload):
            raise _Refuse("crc differs")
        fit = fit_program(self._store.uploaded(upload), self._profile)
        if isinstance(fit, Unfit):
            raise _Refuse(fit.refusal, fit.detail)
        self._verified = True

    def _on_commit(self) -> None:
        upload = self._open_upload()
        if not self._verified:
            raise _Refuse("not verified")
        if not self._store.upload_is_whole(upload):
            raise _Refuse("crc differs")
        self._store.commit(upload)
        self._upload = None
        self._begin(BoardStart(StartCause.COMMIT, self.machine.random_state, self._log))

    def _open_upload(self) -> Upload:
        if self._upload is None:
            raise _Refuse("no upload")
        return self._upload

    def _on_confirm(self) -> None:
        if self._live is None or self._live.standing is not Standing.ON_TRIAL:
            raise _Refuse("no trial")
        self._store.confirm(self._live)
        self._live = self._store.live()

    def _on_read_back(self, which: int, offset: int, count: int) -> Mapping[str, Value]:
        if which > 1 or not 0 < count <= MOST_BODY_BYTES:
            raise _Refuse("bad value")
        if which == 1:
            image = self._store.uploaded(self._open_upload())
        elif self._live is None:
            raise _Refuse("no program")
        else:
            image = self._store.image(self._live)
        return {"data": image[offset : offset + count]}

    def _on_arm(self) -> None:
        if self._program is None:
            raise _Refuse("no program")
        if self._upload is not None:
            raise _Refuse("upload open")
        for kind, name in ((InputKind.STOP, "stop tripped"), (InputKind.ALARM, "alarm tripped")):
            if self._any_tripped(kind):
                raise _Refuse(name)
        if self.machine.mode is Mode.ALARMED:
            raise _Refuse("alarm latched")
        if self.machine.mode is not Mode.ARMED:
            self._ask("arm")

    def _any_tripped(self, kind: InputKind) -> bool:
        assert self._program is not None
        pairs = zip(self._program.inputs, self.machine.inputs_tripped(), strict=True)
        return any(tripped for entry, tripped in pairs if entry.kind is kind)

    def _ask(self, verb: str, *numbers: int) -> None:
        """Asks the rules; what they refuse for a reason that has no code of its own is `not now`."""
        if self._act(verb, *numbers) is not None:
            raise _Refuse("not now")

    def _on_disarm(self) -> None:
        self._act("disarm")

    def _on_state(self) -> Mapping[str, Value]:
        live = self._live
        return {
            "mode": int(self.machine.mode),
            "tick": self.machine.tick & 0xFFFFFFFF,
            "length": live.length if live else 0,
            "crc": live.crc if live else 0,
            "show": self._program.show_id if self._program else 0,
            "generation": live.generation if live else 0,
            "standing": int(live.standing) if live else 0,
            "uploading": int(self._upload is not None),
            "tripped": self._tripped_bits(),
            "fault": self._fault,
            "log_next": self._log.next_number,
            "random": self.machine.random_state,
        }

    def _tripped_bits(self) -> int:
        return sum(1 << index for index, tripped in enumerate(self.machine.inputs_tripped()) if tripped)

    def _on_levels(self, first: int) -> Mapping[str, Value]:
        return {"levels": bytes(self.machine.levels()[first : first + MOST_BODY_BYTES])}

    def _on_trip(self, input: int, ticks: int) -> None:
        if self._program is None:
            raise _Refuse("no program")
        if input >= len(self._program.inputs):
            raise _Refuse("no such input", input)
        if ticks == 0:
            raise _Refuse("bad value")
        self._act("press", input, ticks)

    def _on_drive(self, output: int, level: int, ticks: int) -> None:
        if self._program is None:
            raise _Refuse("no program")
        if output >= len(self._program.outputs):
            raise _Refuse("no such output", output)
        if not 0 < ticks <= LONGEST_DRIVE_TICKS:
            raise _Refuse("bad value")
        if level not in (0, ON) and not self._program.outputs[output].fades:
            raise _Refuse("on or off only", output)
        if self.machine.mode is not Mode.DISARMED:
            raise _Refuse(_NOT_AT_REST[self.machine.mode])
        self._ask("drive", output, level, ticks)

    def _on_reset_alarm(self) -> None:
        if self.machine.mode is not Mode.ALARMED:
            raise _Refuse("no alarm")
        if self._any_tripped(InputKind.ALARM):
            raise _Refuse("alarm tripped")
        if not self.machine.stop_worked:
            raise _Refuse("stop not worked")
        self._ask("reset")

    def _on_heartbeat(self) -> None:
        self._act("heartbeat")

    def _on_read_log(self, first: int) -> Mapping[str, Value]:
        number, entries = self._log.since(first, LOG_ENTRIES_A_FRAME)
        packed = b"".join(entry.pack() for entry in entries)
        return {"first": number, "next": self._log.next_number, "entries": packed}

    def _on_trim(self, keep: int, trim: int) -> Mapping[str, Value]:
        """Kept as on a real board; the ticks here are the caller's, so nothing goes by it."""
        if keep:
            signed = trim - (1 << 16) if trim >> 15 else trim
            if keep > 1 or abs(signed) > MOST_TRIM:
                raise _Refuse("bad value")
            if self.machine.mode is Mode.ARMED:
                raise _Refuse("armed")
            keep_trim(self._store.memory, signed)
        kept = kept_trim(self._store.memory)
        return {
            "tick": self.machine.tick & 0xFFFFFFFF,
            "trim": (kept or 0) & 0xFFFF,
            "kept": int(kept is not None),
        }
