"""The generated half of PROTOCOL.md: the tables of frames, refusals and log entries, as Markdown.

`python -m sequencer.board.protocol_doc` writes it into the file, between its two marks.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from sequencer.board.log import CAUSE_NUMBERS, SKIP_NUMBERS, LogKind, StartCause
from sequencer.board.protocol import FRAMES, REFUSAL_FIELDS, REFUSALS, REFUSED, Field
from sequencer.steps import FaultCode

BEGIN, END = "<!-- tables: begin -->", "<!-- tables: end -->"
DOCUMENT = Path(__file__).with_name("PROTOCOL.md")


def tables() -> str:
    """All tables, each a heading and its rows."""
    parts = ["## Requests\n"]
    for spec in FRAMES:
        parts.append(f"### {spec.number} {spec.name}\n\n{spec.doc} Writes at most {spec.writes} bytes beside data.\n")
        parts.append(_fields("request", spec.request))
        parts.append(_fields("answer", spec.answer))
    parts.append(f"## Refusals\n\nType {REFUSED}.\n\n{_fields('refusal', REFUSAL_FIELDS)}")
    parts.append(_rows(("code", "name", "meaning"), ((row.code, row.name, row.sentence) for row in REFUSALS)))
    parts.append("## Numbers in the log\n")
    for title, pairs in _log_numbers():
        parts.append(f"### {title}\n\n" + _rows(("number", "meaning"), pairs))
    return "\n".join(parts)


def _log_numbers() -> tuple[tuple[str, list[tuple[int, str]]], ...]:
    return (
        ("Kinds", [(int(kind), kind.name.lower().replace("_", " ")) for kind in LogKind]),
        ("Causes", [(number, cause.value) for cause, number in CAUSE_NUMBERS.items()]),
        ("Reasons for a skipped start", [(number, reason.value) for reason, number in SKIP_NUMBERS.items()]),
        ("Faults", [(int(code), code.sentence.format("SUBJECT")) for code in FaultCode]),
        ("Starts of the board", [(int(cause), cause.name.lower()) for cause in StartCause]),
    )


def _fields(what: str, fields: tuple[Field, ...]) -> str:
    if not fields:
        return f"The {what} has no body.\n"
    return _rows((what, "kind", "meaning"), ((field.name, field.kind, field.doc) for field in fields))


def _rows(head: tuple[str, ...], rows: Iterable[tuple[object, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "".join("| " + " | ".join(str(cell) for cell in line) + " |\n" for line in lines)


def with_tables(document: str) -> str:
    """The document with the tables as they are now between its marks. ValueError where a mark is missing."""
    before, found, rest = document.partition(BEGIN)
    _, closed, after = rest.partition(END)
    if not found or not closed:
        raise ValueError("PROTOCOL.md lacks one of its two marks")
    return f"{before}{BEGIN}\n\n{tables()}\n{END}{after}"


if __name__ == "__main__":
    DOCUMENT.write_text(with_tables(DOCUMENT.read_text(encoding="utf-8")), encoding="utf-8")
