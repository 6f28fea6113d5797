"""The tables of LAYOUT.md, made from instruction table and layout, so that the document cannot go stale.

Run as a module it writes them into the document; a test compares.
"""

from __future__ import annotations

from pathlib import Path

from sequencer.steps import layout
from sequencer.steps.table import ROWS, Field, Kind, Row

DOCUMENT = Path(__file__).with_name("LAYOUT.md")
BEGIN = "<!-- made from the tables: begin -->"
END = "<!-- made from the tables: end -->"


def tables() -> str:
    """All tables, as Markdown."""
    fixed = [_fixed(title, parts) for title, parts in layout.ROWS.items()]
    return "\n\n".join([*fixed, _kinds(), _steps()])


def with_tables(document: str) -> str:
    """The document with its tables made anew. Raises ValueError where it has no place for them."""
    before, _, rest = document.partition(BEGIN)
    _, found, after = rest.partition(END)
    if not found:
        raise ValueError("the document has no place for its tables")
    return f"{before}{BEGIN}\n\n{tables()}\n\n{END}{after}"


def _fixed(title: str, parts: tuple[layout.Part, ...]) -> str:
    lines = [
        f"### {title}: {layout.size_of(parts)} bytes",
        "",
        "| at | bytes | part | meaning |",
        "|---|---|---|---|",
    ]
    at = 0
    for part in parts:
        lines.append(f"| {at} | {part.size} | `{part.name}` | {part.doc} |")
        at += part.size
    return "\n".join(lines)


def _kinds() -> str:
    lines = ["### Kinds of fields", "", "| kind | stored as | least | most |", "|---|---|---|---|"]
    lines += [f"| `{kind.name}` | {kind.stored} | {kind.least} | {kind.most} |" for kind in Kind]
    return "\n".join(lines)


def _steps() -> str:
    lines = ["### Steps", "", "| code | step | fields after the code | what it does |", "|---|---|---|---|"]
    packed = [row for row in ROWS if row.code is None]
    plain = sorted((row for row in ROWS if row.code is not None), key=lambda row: row.code or 0)
    lines += [f"| {_code(row)} | `{row.name}` | {_fields(row)} | {row.does} |" for row in [*packed, *plain]]
    return "\n".join(lines)


def _code(row: Row) -> str:
    forms = [] if row.code is None else [f"`{row.code:02X}`"]
    if row.packed:
        forms.append(f"bits `{row.packed}`")
    return " or ".join(forms)


def _fields(row: Row) -> str:
    return ", ".join(_field(field) for field in row.fields) or "none"


def _field(field: Field) -> str:
    return f"`{field.name}` ({field.kind.name}: {field.doc})"


if __name__ == "__main__":
    DOCUMENT.write_text(with_tables(DOCUMENT.read_text(encoding="utf-8")), encoding="utf-8")
