"""A memory of pure results, kept by whoever checks the same show again and again: an editor, a bench.

A result is found again by a key that says everything it came from, or by the very objects it came from. What was not
asked for while the memory filled twice is forgotten. A one-off check uses a fresh one that does not last, in which no
line is remembered.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager

TYPE_CHECKING = False  # as in `typing`, which is not needed to run
if TYPE_CHECKING:
    from typing import Any, TypeVar

    Result = TypeVar("Result")

Notes = dict[Hashable, object]
"""Results by what they are called."""


class Memo:
    """`of(key, make)` gives what `make` gave for this key before; `about(*things)` what is noted of these objects.

    One that is not `lasting` serves a single check: what only a second check would ask for is not to be put into it.
    """

    def __init__(self, lasting: bool = True) -> None:
        self.lasting = lasting
        self._now: dict[Hashable, Any] = {}
        self._before: dict[Hashable, Any] = {}
        self._first = True
        self._most = 0

    def new_run(self) -> None:
        """Forgets, once there are twice as many results as one run needs, those that were not asked for since."""
        if self._first:
            self._first, self._most = not self._now, 2 * len(self._now)
        if len(self._now) > self._most:
            self._before, self._now = self._now, {}
            self._first = True

    def of(self, key: Hashable, make: Callable[[], Result]) -> Result:
        now = self._now
        if key in now:
            return now[key]  # type: ignore[no-any-return]
        found = self._before[key] if key in self._before else make()
        now[key] = found
        return found  # type: ignore[no-any-return]

    def about(self, *things: object) -> Notes:
        """Notes that hang on these very objects and stay with them; nothing that is equal will do."""
        kept: tuple[tuple[object, ...], Notes] = self.of(tuple(map(id, things)), lambda: (things, {}))
        return kept[1]  # the objects are kept too, so that no other can take the place of one in memory


@contextmanager
def uncollected() -> Iterator[None]:
    """Without looking for garbage meanwhile: what a check makes is kept, and to look it through takes a third more."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def noted(notes: Notes, what: Hashable, make: Callable[[], Result]) -> Result:
    """What the notes say, made and noted down where they do not say it yet."""
    if what not in notes:
        notes[what] = make()
    return notes[what]  # type: ignore[no-any-return]
