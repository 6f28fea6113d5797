"""What a check may look at: the results of the stages before it. A stage that could not run has left None."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from functools import partial
from typing import TypeVar

from sequencer.board.profiles import Profile
from sequencer.checks.clips import ClipFile
from sequencer.checks.saying import Said, said_by
from sequencer.checks.wires import Yard, yard_of
from sequencer.frozen import frozen
from sequencer.memo import Memo, noted
from sequencer.schedule.compile import Compiled
from sequencer.schedule.plan import Plan
from sequencer.show import Routine, Show
from sequencer.steps.flow import Flow, flow_of
from sequencer.steps.program import Routine as BoardRoutine

Result = TypeVar("Result")


@frozen
class Facts:
    """`whole`: every line of the show was understood, so what is missing is really missing.

    `clips` are the sound files by (speaker, clip); `profile` is that of the one board of the show. `memo` keeps what
    hangs on one routine and the parts alone.
    """

    show: Show
    whole: bool
    clips: Mapping[tuple[str, str], ClipFile]
    profile: Profile | None = None
    plan: Plan | None = None
    compiled: Compiled | None = None
    memo: Memo = field(default_factory=Memo)

    @property
    def yard(self) -> Yard:
        """The parts and their pins."""
        return noted(self.memo.about(self.show.parts), "yard", partial(yard_of, self.show.parts))

    def flow(self, routine: BoardRoutine) -> Flow:
        """How the steps of a routine of the program follow each other."""
        return noted(self.memo.about(routine), "flow", partial(flow_of, routine.steps))

    def said(self) -> Iterator[tuple[Routine, Said]]:
        """Every routine with what its lines ask for."""
        return self.of_each(_said)

    def of_each(self, seen: Callable[[Yard, Routine], Result]) -> Iterator[tuple[Routine, Result]]:
        """Every routine with what `seen` makes of it, which may hang on the parts and its own lines alone."""
        yard = self.yard
        for routine in self.show.routines:
            yield routine, noted(self.memo.about(yard, routine), seen, partial(seen, yard, routine))


def _said(_: Yard, routine: Routine) -> Said:
    return said_by(routine)
