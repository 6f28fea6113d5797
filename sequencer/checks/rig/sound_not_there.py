"""A clip whose file gives no length: missing, unreadable, no sound, or outside the folder of the show."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import BOARD
from sequencer.checks.facts import Facts
from sequencer.checks.wires import clips_said
from sequencer.findings import Edit, Finding, Mend, Rule, Severity, Span
from sequencer.rig.speaker import Speaker

_SPEAKER = BOARD + 'speaker horn: on box out0\n    clip bell "{}"\n'
_SCARE = "scare ring every 1 min to 2 min:\n    0 s: horn plays bell\n"

RULE = Rule(
    "R008", "a sound that cannot be measured",
    "How long a clip plays is read from its file: `then` waits for it, and the board holds the output that plays it "
    "for so long. A clip without a length is not played, and where a `then` would wait for it the line behind would "
    "come at once.",
    failing=_SPEAKER.format("bel.wav") + _SCARE,
    mended=_SPEAKER.format("bell.wav") + _SCARE,
    severity=Severity.WARNING,
    companions={"bell.wav": "a sound of 2 s"},
)


def find(facts: Facts) -> Iterator[Finding]:
    waited_for = set(_waited_for(facts))
    for placed in facts.show.of_kind("speaker"):
        speaker = placed.part
        assert isinstance(speaker, Speaker)
        for clip, span in clips_said(placed):
            file = facts.clips.get((speaker.name, clip.name))
            if file is None or file.trouble is None:
                continue
            if (speaker.name, clip.name) in waited_for:
                severity, so = Severity.ERROR, "a `then` waits for it and cannot know how long"
            else:
                severity, so = Severity.WARNING, "it counts as no time at all and is not played"
            where = " from the folder of the show, where it is looked for" if file.trouble == "is missing" else ""
            message = f"The sound of `{clip.name}`, {file.file}, {file.trouble}{where}; {so}."
            yield RULE.at(span, message, severity=severity, mends=_mends(facts, span, file))


def _waited_for(facts: Facts) -> Iterator[tuple[str, str]]:
    """Clips of scares that have a `then`; which line it waits for hangs on more than the text."""
    for _, said in facts.said():
        if said.then:
            yield from said.plays


def _mends(facts: Facts, span: Span, file: ClipFile) -> Iterator[Mend]:
    if not file.near:
        return
    lines = facts.show.texts.get(span.file, "").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    line = lines[span.line - 1] if span.line <= len(lines) else ""
    begin = line.find(f'"{file.file}"', span.column - 1)
    if begin >= 0:
        place = Span(span.file, span.line, begin + 1, span.line, begin + 3 + len(file.file))
        for name in file.near:
            yield Mend(f'write "{name}"', (Edit(place, f'"{name}"'),))
