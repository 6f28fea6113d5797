"""What tests of the AVR image share: memories made beforehand, programs on pins that there are, requests as packets."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from sequencer.board.frames import Answer, Value, decode_answer, decode_request, encode_request, unpack
from sequencer.board.framing import PacketReader, wrap
from sequencer.board.link import BoardState, Link
from sequencer.board.memory import ERASED, ByteMemory
from sequencer.board.profiles import Profile
from sequencer.board.protocol import IDENTIFY, PROTOCOL_VERSION, SEQUENCES, STATE, FrameSpec
from sequencer.board.settings import keep_trim
from sequencer.board.store import Store
from sequencer.steps import Program, encode
from tests.firmware.bench.driver import Bench, BenchClock, BenchPort


def memory_with(profile: Profile, *images: bytes, trim: int | None = 0) -> bytes:
    """The EEPROM of a board that was loaded with these programs, one after the other, each confirmed."""
    cells = bytearray([ERASED]) * profile.eeprom_bytes
    memory = ByteMemory(cells)
    store = Store(memory)
    for image in images:
        upload = store.open_upload(len(image), zlib.crc32(image))
        store.write_piece(upload, image)
        store.confirm(store.commit(upload))
    if trim is not None:
        keep_trim(memory, trim)
    return bytes(cells)


def on_pins_of(program: Program, profile: Profile) -> Program | None:
    """The program for this kind of board, its inputs and outputs on pins that there are; None where there are too
    few."""
    fading = [pin.index for pin in profile.outputs if pin.fades]
    plain = [pin.index for pin in profile.outputs if not pin.fades]
    outputs = []
    for output in program.outputs:
        row = fading if output.fades or not plain else plain
        if not row:
            return None
        outputs.append(replace(output, pin=row.pop(0)))
    if len(program.inputs) > len(profile.inputs):
        return None
    inputs = tuple(replace(sensor, pin=n) for n, sensor in enumerate(program.inputs))
    return replace(program, board=profile.kind, outputs=tuple(outputs), inputs=inputs)


def linked(bench: Bench) -> Link:
    """A link to the board on the bench, greeted, in the time of the bench."""
    link = Link(BenchPort(bench), "the bench", clock=BenchClock(bench))
    link.identify()
    return link


@dataclass(slots=True)
class Packets:
    """Requests of one conversation in their order, to be sent when we say, and their answers told apart."""

    conversation: int = 0x1234
    sequence: int = 0
    sent: list[bytes] | None = None

    def greeting(self) -> bytes:
        return self.make(IDENTIFY, conversation=self.conversation, version=PROTOCOL_VERSION)

    def make(self, spec: FrameSpec, **values: Value) -> bytes:
        """The bytes on the line of the next request."""
        self.sequence = (self.sequence + 1) % SEQUENCES
        packet = encode_request(spec, self.sequence, values)
        self.sent = [*(self.sent or []), packet]
        return wrap(packet)

    def answers(self, data: bytes) -> list[Answer]:
        """The answers in what the board sent, one to each request in turn. Fails where one is missing."""
        packets = list(PacketReader().feed(data))
        sent = self.sent or []
        assert len(packets) == len(sent), f"{len(sent)} requests, {len(packets)} answers"
        return [
            decode_answer(decode_request(request), packet)
            for request, packet in zip(sent, packets, strict=True)
        ]


def state_values(answer: Answer) -> Mapping[str, Value]:
    """What an answer to `state` says."""
    assert not answer.refused
    return unpack(STATE.answer, answer.body)


def loaded(bench: Bench, program: Program) -> BoardState:
    """Powers a board up whose memory holds the program, and its state once it runs it."""
    bench.power_on()
    state = linked(bench).state()
    assert state.crc == zlib.crc32(encode(program))
    return state
