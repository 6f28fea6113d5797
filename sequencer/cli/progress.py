"""How far a long piece of work is -> one line on stderr: rewritten on a terminal, said once elsewhere."""

from __future__ import annotations

import sys
from types import TracebackType

from sequencer.cli.terminal import is_terminal


class ProgressLine:
    """Counts bytes done of all there are. `quiet` shows nothing. Used as a context, so that its line ends."""

    def __init__(self, what: str, quiet: bool = False) -> None:
        self._what = what
        self._live = not quiet and is_terminal(sys.stderr)
        self._quiet = quiet
        self._shown = ""
        self._whole = 0

    def __enter__(self) -> ProgressLine:
        return self

    def __call__(self, done: int, whole: int) -> None:
        """Called as often as one likes."""
        self._whole = whole
        share = 100 * done // whole if whole else 100
        line = f"\r{self._what}: {share:>3} %"
        if self._live and line != self._shown:
            sys.stderr.write(line)
            sys.stderr.flush()
            self._shown = line

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._live and self._shown:
            sys.stderr.write("\n")
        elif not self._quiet and self._whole and kind is None:
            sys.stderr.write(f"{self._what}: 100 %\n")
