"""The clock that the link and the virtual board go by, so that a test can hold one of its own."""

from __future__ import annotations

import time
from typing import Protocol


class Clock(Protocol):
    """Time and waiting."""

    def now(self) -> float:
        """Seconds that never run backwards, from an origin of no meaning."""
        ...

    def wall_ms(self) -> int:
        """Whole milliseconds since 1970, the same in every process."""
        ...

    def sleep(self, seconds: float) -> None: ...


class ComputerClock:
    """The clock of this computer."""

    def now(self) -> float:
        return time.monotonic()

    def wall_ms(self) -> int:
        return time.time_ns() // 1_000_000

    def sleep(self, seconds: float) -> None:
        time.sleep(seconds)
