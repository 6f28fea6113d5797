"""Findings -> text for people: what, where, the line underlined, how to mend it, and a summary.

    [x] error C003 at yard.show:14:9
      The ram lands at 1.20 s; the earliest it can land here is 1.35 s.
       14 |     1.20 s: ram lands out
          |     ~~~~~~ its valve would have to open at -0.15 s
      mend: write 1.35 s
       14 +     1.35 s: ram lands out

The sign and the word say the severity; colour only repeats it. What may be written by whom is not decided
here: the text goes back to the command.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sequencer.cli.edits import Changed, preview
from sequencer.cli.excerpt import Mark, excerpt, margin, windowed
from sequencer.cli.terminal import Look
from sequencer.cli.text import counted, harmless, indented, listed, split_lines, visible
from sequencer.findings import Finding, Label, Mend, Severity

SIGNS = {Severity.ERROR: "[x]", Severity.WARNING: "[!]", Severity.NOTE: "[i]"}
_MOST_CHANGED_LINES = 6


def render_findings(findings: Sequence[Finding], texts: Mapping[str, str], look: Look) -> str:
    """All findings in their order, a blank line between two. `texts` are the files they speak of."""
    lines = _Lines(texts)
    return "\n\n".join("\n".join(_finding(finding, lines, look)) for finding in findings)


def summary(findings: Sequence[Finding], name: str, look: Look) -> str:
    """One line: how many of each severity, and how many mend themselves when asked to."""
    if not findings:
        return f"{look.paint('good', '[ok]')} {visible(name)}: nothing found."
    counts = [(severity, sum(f.severity is severity for f in findings)) for severity in Severity]
    parts = listed(counted(number, severity.value) for severity, number in counts if number)
    worst = next(severity for severity, number in counts if number)
    safe = sum(any(mend.safe for mend in finding.mends) for finding in findings)
    which = "it" if len(findings) == 1 else "all of them" if safe == len(findings) else f"{safe:,} of them"
    mended = f" `--mend` mends {which}." if safe else ""
    return f"{look.paint(worst.value, SIGNS[worst])} {visible(name)}: {parts}.{mended}"


class _Lines:
    """The lines of each file, taken apart once."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self.texts = texts
        self._split: dict[str, list[str]] = {}

    def of(self, file: str) -> list[str]:
        if file not in self._split:
            self._split[file] = split_lines(self.texts[file]) if file in self.texts else []
        return self._split[file]


def _finding(finding: Finding, lines: _Lines, look: Look) -> list[str]:
    severity = finding.severity
    place = f"{visible(finding.span.file)}:{finding.span.line}:{finding.span.column}"
    word = look.paint(severity.value, f"{SIGNS[severity]} {severity.value} {finding.code}")
    rows = [f"{word} at {look.paint('place', place)}"]
    rows += indented(harmless(finding.message), "  ", look.width)
    rows += _places(finding, lines, look)
    for mend in finding.mends:
        rows += _mend(mend, lines, look)
    return rows


def _places(finding: Finding, lines: _Lines, look: Look) -> list[str]:
    """The excerpt of the finding's own file, then one for each other file that a label stands in."""
    file = finding.span.file
    here = [label for label in finding.labels if label.span.file == file]
    marks = [Mark(finding.span, finding.severity.value, "~"), *map(_label_mark, here)]
    rows = excerpt(lines.of(file), _one_mark_a_place(marks), look)
    others = dict.fromkeys(label.span.file for label in finding.labels if label.span.file != file)
    for other in others:
        labels = [label for label in finding.labels if label.span.file == other]
        place = f"{visible(other)}:{labels[0].span.line}:{labels[0].span.column}"
        rows.append(f"  and at {look.paint('place', place)}")
        rows += excerpt(lines.of(other), map(_label_mark, labels), look) or _bare_labels(labels, look)
    return rows


def _label_mark(label: Label) -> Mark:
    return Mark(label.span, "note", "-", label.text)


def _one_mark_a_place(marks: Iterable[Mark]) -> list[Mark]:
    """A label on the very place of the finding lends it its words instead of a second underline."""
    kept: list[Mark] = []
    for mark in marks:
        if kept and not kept[0].text and mark.span == kept[0].span:
            kept[0] = Mark(mark.span, kept[0].style, kept[0].sign, mark.text)
        else:
            kept.append(mark)
    return kept


def _bare_labels(labels: Iterable[Label], look: Look) -> list[str]:
    return [row for label in labels for row in indented(visible(label.text), "    ", look.width)]


def _mend(mend: Mend, lines: _Lines, look: Look) -> list[str]:
    """The title, whether `--mend` would do it, and the lines as they would then be."""
    head = "mend (safe):" if mend.safe else "mend:"
    rows = indented(visible(f"{head} {mend.title}"), "  ", look.width)
    rows[0] = rows[0].replace(head, look.paint("mend", head), 1)
    files = dict.fromkeys(edit.span.file for edit in mend.edits)
    for file in files:
        if file in lines.texts:
            for changed in preview(lines.of(file), mend, file):
                rows += _changed(changed, look)
    return rows


def _changed(changed: Changed, look: Look) -> list[str]:
    """The new lines; where a line goes and none comes, the old one with a minus."""
    digits = len(str(changed.line + len(changed.after)))
    comes = any(line.strip() for line in changed.after)
    sign, shown = ("+", changed.after) if comes else ("-", changed.before)
    left = len(margin("", digits, sign, Look()))
    rows = []
    for index, line in enumerate(shown[:_MOST_CHANGED_LINES]):
        old = changed.before[index] if index < len(changed.before) else ""
        start = _common_start(line, old) if comes else 0
        text = windowed(line, start, start + 1, max(look.width - left, 20), left)
        rows.append(margin(changed.line + index, digits, sign, look) + look.paint("mend", text))
    if len(shown) > _MOST_CHANGED_LINES:
        rows.append("  ...")
    return rows


def _common_start(one: str, other: str) -> int:
    """How many characters two lines begin with alike."""
    shorter = min(len(one), len(other))
    return next((index for index in range(shorter) if one[index] != other[index]), shorter)
