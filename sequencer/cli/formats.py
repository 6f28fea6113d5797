"""Findings -> JSON of our own, and GitHub workflow commands. Both are for programs; people get `render`.

The JSON is described in JSON.md beside this file. Its `version` rises when a key changes its meaning
or goes; a key that is new does not raise it.

The workflow commands are those of GitHub's documentation, "Workflow commands for GitHub Actions", sections
"Setting a notice / warning / error message"; `%`, CR and LF are escaped in the message, and `:` and `,` in
the properties too, as the toolkit of that service does.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sequencer import __version__
from sequencer.findings import Finding, Label, Mend, Severity, Span

JSON_VERSION = 1

_COMMANDS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}


def as_json(value: Mapping[str, Any]) -> str:
    """One JSON object with the version of its form and the tool's name; ASCII, so any stream takes it."""
    whole = {"version": JSON_VERSION, "tool": {"name": "sequencer", "version": __version__}, **value}
    return json.dumps(whole, indent=2)


def findings_value(findings: Sequence[Finding]) -> dict[str, Any]:
    """The keys `findings` and `summary` as plain values."""
    return {"findings": [_finding(finding) for finding in findings], "summary": counts_of(findings)}


def counts_of(findings: Sequence[Finding]) -> dict[str, int]:
    """How many there are of each severity."""
    return {f"{s.value}s": sum(f.severity is s for f in findings) for s in Severity}


def findings_json(findings: Sequence[Finding]) -> str:
    return as_json(findings_value(findings))


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "file": finding.span.file,
        "span": _span(finding.span),
        "message": finding.message,
        "labels": [_label(label) for label in finding.labels],
        "mends": [_mend(mend) for mend in finding.mends],
    }


def _span(span: Span) -> dict[str, int]:
    return {
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }


def _label(label: Label) -> dict[str, Any]:
    return {"file": label.span.file, "span": _span(label.span), "text": label.text}


def _mend(mend: Mend) -> dict[str, Any]:
    edits = [{"file": e.span.file, "span": _span(e.span), "text": e.text} for e in mend.edits]
    return {"title": mend.title, "safe": mend.safe, "edits": edits}


def findings_github(findings: Sequence[Finding]) -> str:
    """One workflow command a line."""
    return "\n".join(_workflow_command(finding) for finding in findings)


def _workflow_command(finding: Finding) -> str:
    span = finding.span
    properties: dict[str, str | int] = {
        "file": span.file,
        "line": span.line,
        "col": span.column,
        "endLine": span.end_line,
    }
    if span.end_line == span.line:
        # The documentation leaves open whether the end belongs to the annotation; here it does.
        properties["endColumn"] = max(span.end_column - 1, span.column)
    properties["title"] = f"{finding.code} {finding.severity.value}"
    said = ",".join(f"{name}={_property(str(value))}" for name, value in properties.items())
    lines = [finding.message, *(f"mend: {mend.title}" for mend in finding.mends)]
    return f"::{_COMMANDS[finding.severity]} {said}::{_data(chr(10).join(lines))}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
