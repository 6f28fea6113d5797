"""Two slots for programs in a memory that may lose its power at any write: old or new, never neither.

Turns images (bytes) into bytes of memory and back. What an image means is not looked at here; the caller
decodes and verifies before it commits.

A slot is a header of 16 bytes and the image. The header, numbers low byte first:

    0  length u16       bytes of the image
    2  crc u32          CRC-32/ISO-HDLC over the image
    6  generation u16   one more than the program before it; the newest valid slot is live
    8  check u16        CRC-16/X-25 over bytes 0 to 7
    10 standing u8      0x5A confirmed; anything else is on trial
    11 spare            4 bytes, left as they are
    15 commit u8        0xA5 committed; anything else is no program

Order of writes: commit byte of the slot that is not live taken back; image; image read back and its CRC
compared; header; header read back; commit byte last. A byte that holds the value already is not written.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from enum import IntEnum

from sequencer.board.framing import crc16_x25
from sequencer.board.memory import Memory
from sequencer.board.profiles import SETTINGS_BYTES, SLOT_HEADER_BYTES

_COMMITTED, _TAKEN_BACK = 0xA5, 0x00
_CONFIRMED, _ON_TRIAL = 0x5A, 0xFF
_STANDING_AT, _COMMIT_AT = 10, 15
_GENERATIONS = 1 << 16


class Standing(IntEnum):
    """How a stored program stands; the numbers go on the line."""

    NONE = 0
    CONFIRMED = 1
    ON_TRIAL = 2


class MemoryWorn(Exception):
    """A byte did not keep what was written. `address` counts from the start of the image, or the memory."""

    def __init__(self, address: int) -> None:
        super().__init__(f"byte {address} does not keep what is written")
        self.address = address


@dataclass(frozen=True, slots=True)
class Stored:
    """A committed program as the store found it."""

    slot: int
    length: int
    crc: int
    generation: int
    standing: Standing


@dataclass(slots=True)
class Upload:
    """An upload under way: where it goes, what is to come, how much has come."""

    slot: int
    length: int
    crc: int
    arrived: int = 0


class Store:
    """The two slots of one memory."""

    __slots__ = ("_memory", "_slot_bytes")

    def __init__(self, memory: Memory) -> None:
        self._memory = memory
        self._slot_bytes = (memory.size - SETTINGS_BYTES) // 2 - SLOT_HEADER_BYTES

    @property
    def memory(self) -> Memory:
        """The memory it stands on; its last bytes are the board's settings."""
        return self._memory

    @property
    def slot_bytes(self) -> int:
        """Bytes of the longest image."""
        return self._slot_bytes

    def live(self) -> Stored | None:
        """The newest program that is committed and whole, or None."""
        found = [stored for slot in (0, 1) if (stored := self._valid(slot)) is not None]
        if len(found) == 2:
            ahead = (found[0].generation - found[1].generation) % _GENERATIONS
            return found[0] if 0 < ahead < _GENERATIONS // 2 else found[1]
        return found[0] if found else None

    def image(self, stored: Stored) -> bytes:
        """The bytes of a stored program, read from the memory."""
        return self._read(self._image_at(stored.slot), stored.length)

    def open_upload(self, length: int, crc: int) -> Upload:
        """Takes back the commit of the slot that is not live. The caller has checked the length."""
        assert 0 < length <= self._slot_bytes
        live = self.live()
        slot = 0 if live is None else 1 - live.slot
        self._write(self._header_at(slot) + _COMMIT_AT, bytes([_TAKEN_BACK]))
        return Upload(slot, length, crc)

    def write_piece(self, upload: Upload, data: bytes) -> None:
        """Writes the next bytes of the image. The caller has checked that they fit in its length."""
        assert upload.arrived + len(data) <= upload.length
        start = self._image_at(upload.slot)
        self._write(start + upload.arrived, data, counts_from=start)
        upload.arrived += len(data)

    def uploaded(self, upload: Upload) -> bytes:
        """What the memory holds of the upload so far, read back."""
        return self._read(self._image_at(upload.slot), upload.arrived)

    def upload_is_whole(self, upload: Upload) -> bool:
        """Whether all has come and the memory holds what was announced."""
        return upload.arrived == upload.length and zlib.crc32(self.uploaded(upload)) == upload.crc

    def commit(self, upload: Upload) -> Stored:
        """Makes the upload the live program, on trial. Its commit byte is the last byte written."""
        assert self.upload_is_whole(upload)
        live = self.live()
        generation = 1 if live is None else (live.generation + 1) % _GENERATIONS
        fields = upload.length.to_bytes(2, "little") + upload.crc.to_bytes(4, "little")
        fields += generation.to_bytes(2, "little")
        header = self._header_at(upload.slot)
        self._write(header, fields + crc16_x25(fields).to_bytes(2, "little") + bytes([_ON_TRIAL]))
        self._write(header + _COMMIT_AT, bytes([_COMMITTED]))
        return Stored(upload.slot, upload.length, upload.crc, generation, Standing.ON_TRIAL)

    def confirm(self, stored: Stored) -> None:
        """Ends the trial of a program."""
        self._write(self._header_at(stored.slot) + _STANDING_AT, bytes([_CONFIRMED]))

    def reject(self, stored: Stored) -> None:
        """Takes back a program that failed its trial; the one before it, if there is one, is live again."""
        self._write(self._header_at(stored.slot) + _COMMIT_AT, bytes([_TAKEN_BACK]))

    def _valid(self, slot: int) -> Stored | None:
        header = self._read(self._header_at(slot), SLOT_HEADER_BYTES)
        length = int.from_bytes(header[0:2], "little")
        crc = int.from_bytes(header[2:6], "little")
        checked = crc16_x25(header[0:8]) == int.from_bytes(header[8:10], "little")
        if header[_COMMIT_AT] != _COMMITTED or not checked or not 0 < length <= self._slot_bytes:
            return None
        if zlib.crc32(self._read(self._image_at(slot), length)) != crc:
            return None
        standing = Standing.CONFIRMED if header[_STANDING_AT] == _CONFIRMED else Standing.ON_TRIAL
        return Stored(slot, length, crc, int.from_bytes(header[6:8], "little"), standing)

    def _header_at(self, slot: int) -> int:
        return slot * (SLOT_HEADER_BYTES + self._slot_bytes)

    def _image_at(self, slot: int) -> int:
        return self._header_at(slot) + SLOT_HEADER_BYTES

    def _read(self, address: int, count: int) -> bytes:
        return bytes(self._memory.read(address + n) for n in range(count))

    def _write(self, address: int, data: bytes, counts_from: int = 0) -> None:
        """Writes the bytes that differ, then reads all of them back."""
        for n, value in enumerate(data):
            if self._memory.read(address + n) != value:
                self._memory.write(address + n, value)
        for n, value in enumerate(data):
            if self._memory.read(address + n) != value:
                raise MemoryWorn(address + n - counts_from)
