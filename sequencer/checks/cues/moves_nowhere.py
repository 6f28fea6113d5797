"""A command that sends a cylinder where it already stands."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.moments import on_path
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity, Span
from sequencer.schedule.plan import Moment, PlannedRoutine

RULE = Rule(
    "T001", "a command that moves nothing",
    "A cylinder that is out does not extend. Mostly a line that was to bring it back is missing, or stands in "
    "another branch.",
    failing=changed(LUNGE, ("2 s: ram retracts", "2 s: ram extends")), mended=LUNGE, severity=Severity.WARNING,
    source="where each cylinder stands follows from the lines before, over every path",
)
NEEDS = ("plan",)


def find_in(_yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    said: set[Span] = set()
    for moment in routine.moments:
        if not moment.goes_back and moment.span not in said and _moves_nothing(moment):
            said.add(moment.span)
            names = " and ".join(f"`{travel.cylinder}`" for travel in moment.travels)
            verb = "is" if len(moment.travels) == 1 else "are"
            rounds = "from the second round on " if moment.again else ""
            where = moment.travels[0].before
            message = (f"This moves nothing: {rounds}{names} {verb} {where} already{on_path(moment)}; take it out, "
                       "or a line before it is missing.")
            yield RULE.at(moment.span, message)


def _moves_nothing(moment: Moment) -> bool:
    return bool(moment.travels) and all(
        travel.toward != "stops" and travel.before == travel.toward for travel in moment.travels
    )
