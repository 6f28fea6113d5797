"""Findings -> the same, those in the lines of a gesture with the place where it was used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from sequencer.checks.saying import cues_of
from sequencer.findings import Finding, Label, Span
from sequencer.show import Show

_MOST_SHOWN = 2


def with_uses(findings: Iterable[Finding], show: Show) -> Iterator[Finding]:
    """Adds the uses of the gesture whose line a finding stands in, unless one is shown already."""
    told = tuple(findings)
    uses = _uses(show) if told else {}
    for finding in told:
        places = uses.get(finding.span, ())
        if not places or any(label.span in places for label in finding.labels):
            yield finding
            continue
        labels = tuple(Label(place, "the gesture is used here") for place in tuple(places)[:_MOST_SHOWN])
        yield replace(finding, labels=(*finding.labels, *labels))


def _uses(show: Show) -> dict[Span, dict[Span, None]]:
    """By the place of a line or an action of a gesture: where it was written in, in the order of the text."""
    found: dict[Span, dict[Span, None]] = {}
    for routine in show.routines:
        for cue in cues_of(routine.cues):
            if cue.used_at is not None:
                for span in (cue.span, cue.when_span, *(action.span for action in cue.actions)):
                    found.setdefault(span, {})[cue.used_at] = None
    return found
