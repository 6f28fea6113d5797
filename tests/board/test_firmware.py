"""The board's side alone: any bytes at all, and power that goes at any write of an upload."""

from __future__ import annotations

import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.board.errors import BoardError, BoardRefused
from sequencer.board.firmware import BoardStart, Firmware
from sequencer.board.frames import encode_request
from sequencer.board.framing import crc16_x25, wrap
from sequencer.board.log import LogRing, StartCause
from sequencer.board.memory import ERASED, ByteMemory, PowerCut
from sequencer.board.profiles import AVR328, HOST
from sequencer.board.protocol import FRAMES, IDENTIFY, OPEN_UPLOAD, PIECE
from sequencer.board.store import Store
from sequencer.steps import Mode, encode


def fresh(profile=AVR328) -> Firmware:
    memory = ByteMemory(bytearray([ERASED]) * profile.eeprom_bytes)
    return Firmware(profile, Store(memory), BoardStart(StartCause.POWER, 1, LogRing(24)))


def greeted() -> Firmware:
    board = fresh()
    assert board.receive(wrap(encode_request(IDENTIFY, 0, {"conversation": 5, "version": 1})))
    return board


@settings(max_examples=200)
@given(st.lists(st.binary(max_size=90), max_size=5))
def test_bytes_of_chance_neither_crash_a_board_nor_move_it(chunks):
    board = greeted()
    for chunk in chunks:
        board.receive(chunk)
        board.advance(board.machine.tick + 1)
    assert board.machine.mode is Mode.DISARMED
    assert board.live is None


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, 31), st.binary(max_size=57)), min_size=1, max_size=12))
def test_sound_frames_of_any_type_with_any_body_are_answered_and_crash_nothing(frames):
    board = greeted()
    number = 0
    for kind, body in frames:
        number = 0 if kind == IDENTIFY.number else number + 1
        content = bytes([kind << 3 | number % 8]) + body
        answer = board.receive(wrap(content + crc16_x25(content).to_bytes(2, "little")))
        if kind == IDENTIFY.number:
            board = greeted()
        else:
            assert answer.endswith(b"\x00")
        assert len(answer) <= 62
        board.advance(board.machine.tick + 3)


@pytest.mark.parametrize("spec", FRAMES, ids=lambda spec: spec.name)
def test_every_frame_of_the_table_has_somebody_who_answers_it(spec):
    assert callable(getattr(Firmware, "_on_" + spec.name.replace(" ", "_")))


def test_a_board_that_nobody_has_greeted_refuses_everything_else():
    board = fresh()
    for spec in FRAMES:
        values = {field.name: b"x" if field.kind == "rest" else 1 for field in spec.request}
        answer = board.receive(wrap(encode_request(spec, 1, values)))
        assert answer
        if spec is IDENTIFY:
            board = fresh()


def steps_of_upload(image: bytes, kind: int = AVR328.kind) -> list[bytes]:
    values = {"kind": kind, "length": len(image), "crc": zlib.crc32(image)}
    frames = [encode_request(OPEN_UPLOAD, 1, values)]
    for number, start in enumerate(range(0, len(image), 57), start=2):
        frames.append(encode_request(PIECE, number % 8, {"data": image[start : start + 57]}))
    return frames


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda image: b"\x00" * len(image), "is no program"),
        (lambda image: image[:-1] + bytes([image[-1] ^ 1]), "is no program"),
        (lambda image: image + b"\x00", "is no program"),
    ],
    ids=["zeros", "one bit", "one byte more"],
)
def test_what_is_no_program_is_refused_though_every_byte_arrived_as_sent(bench, programs, spoil, says):
    link = bench.loaded(programs.lunge(1))
    with pytest.raises(BoardRefused, match=says):
        link.upload(spoil(encode(programs.lunge(2))), AVR328.kind)
    with pytest.raises(BoardRefused, match="not been proved yet"):
        link.commit()
    assert link.state().show == 1


def test_a_program_for_another_board_is_refused_by_what_is_announced_and_by_what_it_says(bench, programs):
    link = bench.link()
    image = encode(programs.lunge(1, kind=HOST.kind))
    with pytest.raises(BoardRefused, match="another kind"):
        link.upload(image, HOST.kind)
    with pytest.raises(BoardRefused, match="another kind"):
        link.upload(image, AVR328.kind)
    assert link.state().length == 0


def test_a_program_longer_than_a_slot_is_refused_before_a_byte_is_written(bench):
    link = bench.loaded()
    writes = link.port.memory.writes
    with pytest.raises(BoardRefused, match="480 bytes"):
        link.upload(bytes(481), AVR328.kind)
    assert link.port.memory.writes == writes


def test_power_that_goes_at_any_write_of_an_upload_leaves_the_old_program_or_the_new(bench, programs):
    """The oracle is the board's own answer after it has power again."""
    bench.loaded(programs.lunge(1)).close()
    bench.loaded(programs.lunge(2)).close()
    before = (bench.folder / "box.eeprom").read_bytes()
    old, new = encode(programs.lunge(2)), encode(programs.of_length(200, AVR328.kind))
    seen, write, cut = set(), 0, True
    while cut:
        (bench.folder / "box.eeprom").write_bytes(before)
        link = bench.link(power="cycle")
        passed = 0

        def going(cells, address, value, at=write) -> None:
            nonlocal passed
            passed += 1
            if passed > at:
                raise PowerCut

        link.port.memory.before_write = going
        try:
            link.upload(new, AVR328.kind)
            link.commit()
            link.confirm()
            cut = False
        except BoardError:
            assert link.port.firmware is None
        link.close()
        state = bench.link()
        held = state.read_back(state.state().length)
        assert held in (old, new)
        seen.add((held == new, state.state().standing))
        state.close()
        write += 1
    assert write > 100
    assert len({new_one for new_one, _ in seen}) == 2


def test_a_stored_program_that_does_not_decode_is_not_run_though_its_checksum_is_right():
    """As after firmware of another age: the store is whole, the board stays disarmed and without a program."""
    memory = ByteMemory(bytearray([ERASED]) * AVR328.eeprom_bytes)
    store, image = Store(memory), b"a cue sheet of another age"
    upload = store.open_upload(len(image), zlib.crc32(image))
    store.write_piece(upload, image)
    store.commit(upload)
    board = Firmware(AVR328, Store(memory), BoardStart(StartCause.POWER, 1, LogRing(24)))
    assert board.live is not None and board.program is None
    assert board.machine.arm() is not None and board.machine.mode is Mode.DISARMED


def test_a_worn_memory_is_named_and_the_old_program_stays(bench, programs):
    link = bench.loaded(programs.lunge(1))
    memory = link.port.memory
    write = type(memory).write

    class Worn:
        size, before_write = memory.size, None
        read = staticmethod(memory.read)

        @staticmethod
        def write(address: int, value: int) -> None:
            write(memory, address, value if address % 50 else value ^ 1)

    link.port.firmware._store._memory = Worn
    with pytest.raises(BoardRefused, match="worn out"):
        link.upload(encode(programs.of_length(200, AVR328.kind)), AVR328.kind)
    assert link.state().show == 1
