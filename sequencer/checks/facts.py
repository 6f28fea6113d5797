"""What a check may look at: the results of the stages before it. A stage that could not run has left None."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from functools import partial
from typing import TypeVar

from sequencer.board.profiles import Profile
from sequencer.checks.clips import ClipFile
from sequencer.frozen import frozen
from sequencer.memo import Memo, Same
from sequencer.schedule.compile import Compiled
from sequencer.schedule.plan import Plan
from sequencer.show import Routine, Show

Result = TypeVar("Result")


@frozen
class Facts:
    """`whole`: every line of the show was understood, so what is missing is really missing.

    `clips` are the sound files by (speaker, clip); `profile` is that of the one board of the show. `memo` may keep
    what hangs on one routine and the parts alone.
    """

    show: Show
    whole: bool
    clips: Mapping[tuple[str, str], ClipFile]
    profile: Profile | None = None
    plan: Plan | None = None
    compiled: Compiled | None = None
    memo: Memo = field(default_factory=Memo)

    def of_each(self, seen: Callable[[Routine], Result]) -> Iterator[tuple[Routine, Result]]:
        """Every routine with what `seen` makes of it, which may hang on its lines alone."""
        for routine in self.show.routines:
            yield routine, self.memo.of((seen, Same(routine)), partial(seen, routine))
