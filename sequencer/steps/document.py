"""The tables of LAYOUT.md, made from instruction table and layout, so that the document cannot go stale.

Run as a module it writes them into the document; a test compares.
"""

from __future__ import annotations

from pathlib import Path

from sequencer.steps import layout
from sequencer.steps.forms import Coding, Form
from sequencer.steps.table import BY_FIRST_BYTE, ROWS, Field, Kind, Row

DOCUMENT = Path(__file__).with_name("LAYOUT.md")
BEGIN = "<!-- made from the tables: begin -->"
END = "<!-- made from the tables: end -->"


def tables() -> str:
    """All tables, as Markdown."""
    fixed = [_fixed(title, parts) for title, parts in layout.ROWS.items()]
    return "\n\n".join([*fixed, _kinds(), _steps(), _first_bytes()])


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
    lines = ["### Kinds of fields", "", "| kind | least | most |", "|---|---|---|"]
    lines += [f"| `{kind.name}` | {kind.least} | {kind.most} |" for kind in Kind]
    return "\n".join(lines)


def _steps() -> str:
    lines = ["### Steps", "", "| step | fields | what it does |", "|---|---|---|"]
    lines += [f"| `{row.name}` | {_fields(row)} | {row.does} |" for row in ROWS]
    return "\n".join(lines)


def _fields(row: Row) -> str:
    return ", ".join(_field(field) for field in row.fields) or "none"


def _field(field: Field) -> str:
    return f"`{field.name}` ({field.kind.name}: {field.doc})"


def _first_bytes() -> str:
    """Every form in the order of its first byte, as a switch in C would have its cases."""
    lines = ["### First bytes", "", "| bytes | bits | step | said by it | then |", "|---|---|---|---|---|"]
    seen: list[Form] = []
    for _, (row, form) in sorted(BY_FIRST_BYTE.items()):
        if form not in seen:
            seen.append(form)
            lines.append(f"| {_range(form)} | `{_bits(form)}` | `{row.name}` | {_said(form)} | {_then(form)} |")
    return "\n".join(lines)


def _range(form: Form) -> str:
    first, last = form.first_bytes[0], form.first_bytes[-1]
    return f"`{first:02X}`" if first == last else f"`{first:02X}`-`{last:02X}`"


def _bits(form: Form) -> str:
    bits = form.low.bits if form.low else 0
    return f"{form.base >> bits:0{8 - bits}b} {'n' * bits}".strip()


def _said(form: Form) -> str:
    said = [f"`{name}` = {value}" for name, value in form.fixed]
    if form.low is not None:
        amount = "n" if form.low.unit == 1 else f"{form.low.unit} n"
        said.append(f"`{form.low.field}` = {amount}" + (f" + {form.low.least}" if form.low.least else ""))
    return ", ".join(said) or "nothing more"


def _then(form: Form) -> str:
    return ", ".join(_part(form, coding, names) for coding, names in form.parts) or "nothing"


def _part(form: Form, coding: Coding, names: tuple[str, ...]) -> str:
    plus = "+ " if form.low is not None and form.low.field in names else ""
    return f"{coding.value} {plus}{' and '.join(f'`{name}`' for name in names)}"


if __name__ == "__main__":
    DOCUMENT.write_text(with_tables(DOCUMENT.read_text(encoding="utf-8")), encoding="utf-8")
