"""Findings -> the same, those in the lines of a gesture with the place where it was used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from sequencer.checks.facts import Facts
from sequencer.checks.saying import cues_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Span
from sequencer.show import Routine

_MOST_SHOWN = 2


def with_uses(findings: Iterable[Finding], facts: Facts) -> Iterator[Finding]:
    """Adds the uses of the gesture whose line a finding stands in, unless one is shown already."""
    written_in = [uses for _, uses in facts.of_each(_uses) if uses]
    for finding in findings:
        places = tuple(dict.fromkeys(place for uses in written_in for place in uses.get(finding.span, ())))
        if not places or any(label.span in places for label in finding.labels):
            yield finding
            continue
        labels = tuple(Label(place, "the gesture is used here") for place in places[:_MOST_SHOWN])
        yield replace(finding, labels=(*finding.labels, *labels))


def _uses(_: Yard, routine: Routine) -> dict[Span, dict[Span, None]]:
    """By the place of a line or an action of a gesture: where it was written in, in the order of the text."""
    found: dict[Span, dict[Span, None]] = {}
    for cue in cues_of(routine.cues):
        if cue.used_at is not None:
            for span in (cue.span, cue.when_span, *(action.span for action in cue.actions)):
                found.setdefault(span, {})[cue.used_at] = None
    return found
