"""A memory of pure results, kept by whoever checks the same show again and again: an editor, a bench.

A result is found again by a key that says everything it came from; what two runs in a row did not ask for is
forgotten. A one-off check uses a fresh one and pays nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

Result = TypeVar("Result")


class Same:
    """A key that says: this very object. It keeps the object alive, so that no other can take its place."""

    __slots__ = ("it",)

    def __init__(self, it: object) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it


class Memo:
    """`of(key, make)` gives what `make` gave for this key in this run or the last one."""

    def __init__(self) -> None:
        self._now: dict[Hashable, Any] = {}
        self._before: dict[Hashable, Any] = {}

    def new_run(self) -> None:
        """Forgets what the last run did not use."""
        self._before, self._now = self._now, {}

    def of(self, key: Hashable, make: Callable[[], Result]) -> Result:
        now = self._now
        if key in now:
            return now[key]  # type: ignore[no-any-return]
        found = self._before[key] if key in self._before else make()
        now[key] = found
        return found  # type: ignore[no-any-return]
