"""How far a long piece of work is -> click's progress bar on stderr: drawn on a terminal, its label once elsewhere."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from types import TracebackType
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click._termui_impl import ProgressBar


class Progress:
    """Counts bytes done of all there are. `quiet` shows nothing. Used as a context, so that its line ends.

    The bar begins with the first count, so that work which turns out not to be needed shows none.
    """

    def __init__(self, what: str, quiet: bool = False) -> None:
        self._what = what
        self._quiet = quiet
        self._stack = ExitStack()
        self._bar: ProgressBar[int] | None = None

    def __enter__(self) -> Progress:
        return self

    def __call__(self, done: int, whole: int) -> None:
        """Called as often as one likes."""
        if self._quiet:
            return
        if self._bar is None:
            bar: ProgressBar[int] = click.progressbar(length=whole, label=self._what, file=sys.stderr, width=0)
            self._bar = self._stack.enter_context(bar)
        self._bar.update(done - self._bar.pos)

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()
