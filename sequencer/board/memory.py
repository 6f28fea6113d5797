"""A memory of bytes that outlasts power: what the store stands on. Kept in RAM or in a file.

Knows addresses and bytes only. The store decides what is written where and in which order.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol

ERASED = 0xFF
"""What a byte of an EEPROM holds before it is written."""


class Memory(Protocol):
    """Bytes with addresses, written one at a time, each write wearing the byte a little."""

    @property
    def size(self) -> int: ...

    def read(self, address: int) -> int: ...

    def write(self, address: int, value: int) -> None: ...


class PowerCut(Exception):
    """The power went. Raised by a memory's hook in tests and by the virtual board; no error of the world."""


WriteHook = Callable[[bytearray, int, int], None]


class ByteMemory:
    """A memory in RAM that counts its writes. `before_write` may tear the byte and raise PowerCut."""

    __slots__ = ("_cells", "before_write", "writes")

    def __init__(self, cells: bytearray, before_write: WriteHook | None = None) -> None:
        self._cells = cells
        self.before_write = before_write
        self.writes = 0

    @property
    def size(self) -> int:
        return len(self._cells)

    def read(self, address: int) -> int:
        return self._cells[address]

    def write(self, address: int, value: int) -> None:
        if self.before_write is not None:
            self.before_write(self._cells, address, value)
        self._cells[address] = value
        self.writes += 1


class FileMemory(ByteMemory):
    """The same in a file, each byte in the file as soon as it is written."""

    __slots__ = ("_file",)

    def __init__(self, path: Path, size: int, before_write: WriteHook | None = None) -> None:
        """Opens the file, or makes it, erased. Raises OSError; ValueError where it is of another size."""
        if not path.exists():
            path.write_bytes(bytes([ERASED]) * size)
        super().__init__(bytearray(path.read_bytes()), before_write)
        if self.size != size:
            raise ValueError(f"the memory file {path} holds {self.size} bytes and the board {size}")
        self._file = path.open("r+b", buffering=0)

    def write(self, address: int, value: int) -> None:
        super().write(address, value)
        self._file.seek(address)
        self._file.write(bytes([value]))

    def close(self) -> None:
        """Lets go of the file. Nothing is lost without it."""
        self._file.close()
