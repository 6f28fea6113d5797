"""The two slots: old or new, never neither, whatever the power does."""

from __future__ import annotations

import random
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.board.memory import ERASED, ByteMemory, FileMemory, PowerCut
from sequencer.board.profiles import AVR328, SLOT_HEADER_BYTES
from sequencer.board.store import MemoryWorn, Standing, Store

SIZE = AVR328.eeprom_bytes


def image_of(seed: int, length: int) -> bytes:
    return random.Random(seed).randbytes(length)


OLD, NEW, NEWER = image_of(1, 90), image_of(2, 83), image_of(3, 91)


def blank() -> bytearray:
    return bytearray([ERASED]) * SIZE


def load(store: Store, image: bytes, confirm: bool = True) -> None:
    upload = store.open_upload(len(image), zlib.crc32(image))
    for start in range(0, len(image), 57):
        store.write_piece(upload, image[start : start + 57])
    assert store.upload_is_whole(upload)
    stored = store.commit(upload)
    if confirm:
        store.confirm(stored)


def runs(cells: bytearray) -> bytes | None:
    store = Store(ByteMemory(cells))
    live = store.live()
    return None if live is None else store.image(live)


def cut_at(write: int, tear):
    """A hook that lets `write` writes pass and cuts the power in the next; `tear` says what is left there."""
    passed = 0

    def before_write(cells: bytearray, address: int, value: int) -> None:
        nonlocal passed
        if passed == write:
            cells[address] = tear(cells[address], value)
            raise PowerCut
        passed += 1

    return before_write


TEARS = {
    "before": lambda old, new: old,
    "erased": lambda old, new: ERASED,
    "half": lambda old, new: old & new,
    "garbage": lambda old, new: (old * 31 + new * 17 + 89) & 0xFF,
    "done": lambda old, new: new,
}


def writes_of(cells: bytearray, image: bytes) -> int:
    memory = ByteMemory(bytearray(cells))
    load(Store(memory), image)
    return memory.writes


@pytest.mark.parametrize("tear", TEARS)
@pytest.mark.parametrize(
    "before", [(), (OLD,), (OLD, NEW), (NEW, OLD, NEW)], ids=["first", "second", "third", "fourth"]
)
def test_power_cut_at_every_write_leaves_the_old_program_or_the_new(before, tear):
    cells = blank()
    for image in before:
        load(Store(ByteMemory(cells)), image)
    old = before[-1] if before else None
    assert runs(cells) == old
    count = writes_of(cells, NEWER)
    seen = set()
    for write in range(count):
        torn = bytearray(cells)
        with pytest.raises(PowerCut):
            load(Store(ByteMemory(torn, cut_at(write, TEARS[tear]))), NEWER)
        assert runs(torn) in (old, NEWER)
        seen.add(runs(torn))
        load(Store(ByteMemory(torn)), NEWER)
        assert runs(torn) == NEWER
    assert old in seen and NEWER in seen


@pytest.mark.parametrize("tear", ["before", "half", "done"])
def test_a_program_that_power_was_lost_over_is_on_trial_if_it_is_live(tear):
    """The slot it goes into once held a confirmed program: none of that may be left standing."""
    cells = blank()
    for image in (OLD, NEW, OLD):
        load(Store(ByteMemory(cells)), image)
    for write in range(writes_of(cells, NEWER) - 1):
        torn = bytearray(cells)
        with pytest.raises(PowerCut):
            load(Store(ByteMemory(torn, cut_at(write, TEARS[tear]))), NEWER)
        live = Store(ByteMemory(torn)).live()
        standing = Standing.ON_TRIAL if runs(torn) == NEWER else Standing.CONFIRMED
        assert live.standing is standing


def test_power_cut_twice_at_any_two_writes_leaves_the_old_program_or_the_new():
    cells = blank()
    load(Store(ByteMemory(cells)), OLD)
    small = NEW[:20]
    count = writes_of(cells, small)
    for first in range(count):
        once = bytearray(cells)
        with pytest.raises(PowerCut):
            load(Store(ByteMemory(once, cut_at(first, TEARS["garbage"]))), small)
        old = runs(once)
        for second in range(writes_of(once, NEWER[:20])):
            twice = bytearray(once)
            with pytest.raises(PowerCut):
                load(Store(ByteMemory(twice, cut_at(second, TEARS["half"]))), NEWER[:20])
            assert runs(twice) in (old, NEWER[:20])


@given(st.lists(st.tuples(st.integers(0, SIZE - 1), st.integers(1, 255)), min_size=1, max_size=4))
def test_a_memory_that_has_rotted_gives_a_program_that_was_stored_or_none(rot):
    cells = blank()
    load(Store(ByteMemory(cells)), OLD)
    load(Store(ByteMemory(cells)), NEW)
    for address, flip in rot:
        cells[address] ^= flip
    assert runs(cells) in (OLD, NEW, None)


@pytest.mark.parametrize("byte", range(len(NEW)))
def test_a_rotten_byte_in_the_new_image_brings_the_old_one_back(byte):
    cells = blank()
    load(Store(ByteMemory(cells)), OLD)
    load(Store(ByteMemory(cells)), NEW)
    live = Store(ByteMemory(cells)).live()
    cells[live.slot * (SLOT_HEADER_BYTES + AVR328.slot_bytes) + SLOT_HEADER_BYTES + byte] ^= 0x10
    assert runs(cells) == OLD


@pytest.mark.parametrize("flip", [0x02, 0x10, 0x80])
def test_a_rotten_count_does_not_make_an_old_program_the_newest(flip):
    cells = blank()
    load(Store(ByteMemory(cells)), OLD)
    load(Store(ByteMemory(cells)), NEW)
    old_slot = 1 - Store(ByteMemory(cells)).live().slot
    cells[old_slot * (SLOT_HEADER_BYTES + AVR328.slot_bytes) + 6] ^= flip
    assert runs(cells) == NEW


def test_a_blank_memory_and_one_full_of_zeros_hold_no_program():
    assert runs(blank()) is None
    assert runs(bytearray(SIZE)) is None


@given(st.binary(min_size=SIZE, max_size=SIZE))
def test_a_memory_full_of_chance_holds_no_program(chance):
    assert runs(bytearray(chance)) is None


def test_loading_the_same_bytes_again_writes_only_headers():
    cells = blank()
    for _ in range(2):
        load(Store(ByteMemory(cells)), OLD)
    assert writes_of(cells, OLD) <= SLOT_HEADER_BYTES


def test_a_program_with_three_bytes_changed_costs_three_bytes_and_a_header():
    cells = blank()
    load(Store(ByteMemory(cells)), OLD)
    load(Store(ByteMemory(cells)), OLD)
    changed = bytearray(OLD)
    for at in (4, 40, 80):
        changed[at] ^= 0xFF
    assert writes_of(cells, bytes(changed)) <= 3 + SLOT_HEADER_BYTES


def test_the_newest_is_live_also_where_the_count_of_commits_begins_again():
    cells = blank()
    memory = ByteMemory(cells)
    for generation in (65534, 65535, 0, 1):
        image = image_of(generation, 12)
        load(Store(memory), image)
        live = Store(memory).live()
        assert Store(memory).image(live) == image
        if generation == 65534:
            forge_generation(memory, live.slot, 65534)
        else:
            assert live.generation == generation


def forge_generation(memory: ByteMemory, slot: int, generation: int) -> None:
    """Writes a slot's header anew with another count, by the layout told in store.py."""
    from sequencer.board.framing import crc16_x25

    start = slot * (SLOT_HEADER_BYTES + AVR328.slot_bytes)
    fields = bytes(memory.read(start + n) for n in range(6)) + generation.to_bytes(2, "little")
    for n, value in enumerate(fields + crc16_x25(fields).to_bytes(2, "little")):
        memory.write(start + n, value)


def test_a_program_is_on_trial_until_it_is_confirmed():
    store = Store(ByteMemory(blank()))
    load(store, OLD, confirm=False)
    assert store.live().standing is Standing.ON_TRIAL
    store.confirm(store.live())
    assert store.live().standing is Standing.CONFIRMED


def test_a_program_rejected_in_its_trial_gives_way_to_the_one_before_it():
    store = Store(ByteMemory(blank()))
    load(store, OLD)
    load(store, NEW, confirm=False)
    store.reject(store.live())
    assert store.image(store.live()) == OLD
    assert store.live().standing is Standing.CONFIRMED


def test_a_byte_that_does_not_keep_its_value_is_named():
    cells = blank()

    class Worn(ByteMemory):
        def write(self, address: int, value: int) -> None:
            super().write(address, value if address != SLOT_HEADER_BYTES + 30 else 0xFF)

    with pytest.raises(MemoryWorn) as worn:
        load(Store(Worn(cells)), bytes(60))
    assert worn.value.address == 30


def test_a_memory_in_a_file_holds_what_was_written_when_it_is_opened_again(tmp_path):
    path = tmp_path / "memory"
    first = FileMemory(path, SIZE)
    load(Store(first), OLD)
    # Not closed: what was written is there even if the process ends at once.
    assert runs(bytearray(path.read_bytes())) == OLD
    assert Store(FileMemory(path, SIZE)).live().crc == zlib.crc32(OLD)
    with pytest.raises(ValueError, match="4096"):
        FileMemory(path, 4096)
