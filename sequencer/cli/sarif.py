"""Findings and their rules -> a SARIF log, the exchange format of OASIS "Static Analysis Results Interchange
Format (SARIF) Version 2.1.0", as plain values for JSON.

Section numbers below are those of that standard.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sequencer import __version__
from sequencer.findings import Finding, Mend, Rule, Severity, Span

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def findings_sarif(findings: Sequence[Finding], rules: Mapping[str, Rule]) -> str:
    """The whole log as text; `rules` is the catalogue, of which the rules that bite are told."""
    return json.dumps(sarif_value(findings, rules), indent=2)


def sarif_value(findings: Sequence[Finding], rules: Mapping[str, Rule]) -> dict[str, Any]:
    codes = sorted({finding.code for finding in findings})
    driver = {"name": "sequencer", "version": __version__, "rules": [_rule(c, rules.get(c)) for c in codes]}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",  # 3.14.17
        "results": [_result(finding, codes) for finding in findings],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(code: str, rule: Rule | None) -> dict[str, Any]:
    """A reporting descriptor (3.49) with its help (3.49.13)."""
    if rule is None:
        return {"id": code}
    title = rule.title[:1].upper() + rule.title[1:] + "."
    text = f"{rule.why} Source: {rule.source}."
    examples = ("Fails:", _fenced(rule.failing), "Mended:", _fenced(rule.mended))
    parts = (rule.why, f"Source: {rule.source}.", *examples)
    return {
        "id": code,
        "shortDescription": {"text": title},
        "fullDescription": {"text": rule.why},
        "help": {"text": text, "markdown": "\n\n".join(parts)},
        "defaultConfiguration": {"level": _level(rule.severity)},
    }


def _fenced(text: str) -> str:
    return f"```\n{text.rstrip()}\n```"


def _level(severity: Severity) -> str:
    return severity.value  # 3.27.10 has the same three words


def _result(finding: Finding, codes: Sequence[str]) -> dict[str, Any]:
    """A result (3.27)."""
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "ruleIndex": codes.index(finding.code),
        "level": _level(finding.severity),
        "message": {"text": finding.message},
        "locations": [{"physicalLocation": _physical(finding.span)}],
    }
    if finding.labels:
        result["relatedLocations"] = [
            {"id": number, "physicalLocation": _physical(label.span), "message": {"text": label.text}}
            for number, label in enumerate(finding.labels, 1)
        ]
    fixes = [_fix(mend) for mend in finding.mends if mend.edits]
    if fixes:
        result["fixes"] = fixes
    return result


def _physical(span: Span) -> dict[str, Any]:
    return {"artifactLocation": {"uri": uri_of(span.file)}, "region": _region(span)}


def _region(span: Span) -> dict[str, int]:
    """A text region; the end column is the one behind the last character (3.30.8)."""
    return {
        "startLine": span.line,
        "startColumn": span.column,
        "endLine": span.end_line,
        "endColumn": span.end_column,
    }


def uri_of(file: str) -> str:
    """A path as a URI reference (3.4.3): relative stays relative, absolute gets the file scheme.

    >>> uri_of("night of fog/yard.show")
    'night%20of%20fog/yard.show'
    """
    if os.path.isabs(file):
        return Path(file).as_uri()
    # A colon is quoted too: in the first part of a relative path it would read as a scheme (RFC 3986, 4.2).
    return quote(file.replace(os.sep, "/"))


def _fix(mend: Mend) -> dict[str, Any]:
    """A fix (3.55): one artifact change a file, its replacements in the order of the file."""
    files = dict.fromkeys(edit.span.file for edit in mend.edits)
    return {
        "description": {"text": mend.title},
        "artifactChanges": [
            {"artifactLocation": {"uri": uri_of(file)}, "replacements": list(_replacements(mend, file))}
            for file in files
        ],
    }


def _replacements(mend: Mend, file: str) -> Iterable[dict[str, Any]]:
    """Each names its place in the file as it was (3.57.1)."""
    for edit in sorted((e for e in mend.edits if e.span.file == file), key=lambda e: e.span):
        yield {"deletedRegion": _region(edit.span), "insertedContent": {"text": edit.text}}
