"""Findings and what a dry run met -> rows for the table of the page, with the times at which they bite.

A finding bites whenever a cue of its line is done in the run. What has no such line has no time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sequencer.checks.saying import actions_of
from sequencer.dryrun.timeline import Met
from sequencer.findings import Finding
from sequencer.pages.html.cues import Cues
from sequencer.pages.html.window import Window
from sequencer.show import Show

MOST_TIMES = 200
"""Marks of one finding on the time axis; a line in a quick repeat needs no more to be found."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table. `severity` error, warning or note; `ticks` are when it bites; `cue`: its line is a cue's.
    """

    severity: str
    code: str
    message: str
    file: str = ""
    line: int = 0
    mends: tuple[str, ...] = ()
    ticks: tuple[int, ...] = ()
    further: tuple[tuple[str, int, str], ...] = ()
    cue: bool = False


def rows_of(
    findings: Iterable[Finding], met: Sequence[Met], cues: Cues, window: Window, show: Show
) -> list[Row]:
    """The findings in their order, then what was met within the window, in order of time."""
    at_line: dict[tuple[str, int], list[int]] = defaultdict(list)
    for tick, place in cues.marks:
        span = cues.places[place].span
        at_line[span.file, span.line].append(tick)
    acts = {(action.span.file, action.span.line) for routine in show.routines for action in actions_of(routine)}
    rows = [
        Row(
            finding.severity.value, finding.code, finding.message, finding.span.file, finding.span.line,
            tuple(mend.title for mend in finding.mends),
            tuple(dict.fromkeys(at_line[finding.span.file, finding.span.line]))[:MOST_TIMES],
            tuple((label.span.file, label.span.line, label.text) for label in finding.labels),
            (finding.span.file, finding.span.line) in acts,
        )
        for finding in findings
    ]  # fmt: skip
    seen: dict[tuple[bool, str], list[int]] = defaultdict(list)
    for one in met:
        if window.holds(one.tick):
            seen[one.serious, one.sentence].append(one.tick)
    rows += [
        Row("warning" if serious else "note", "", sentence, ticks=tuple(ticks)[:MOST_TIMES])
        for (serious, sentence), ticks in seen.items()
    ]
    return rows
