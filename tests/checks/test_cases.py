"""Shows with their expected findings written on the guilty lines; exactly these are reported, and no others.

`#! R005 T001` at the end of a line: these are found on it. `#! R005:17` also says in which column the finding
begins. A show without any is one that must stay quiet, but for codes that its first line excuses: `#! quiet but R017`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from sequencer.checks import check_file

ROOT = Path(__file__).parent.parent.parent
CASES = sorted((ROOT / "tests" / "cases").rglob("*.show"))
CASES = [path for path in CASES if not path.name.endswith(".rig.show")]
SHOWN = [ROOT / "shows" / "broken.show"]
EXPECTED = re.compile(r"#!\s*((?:[A-Z]\d{3}(?::\d+)?\s*)+)$")
EXCUSED = re.compile(r"#! quiet but ((?:[A-Z]\d{3}\s*)+)$")


def expected_of(path: Path) -> list[tuple[int, str, int | None]]:
    found = []
    for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1):
        match = EXPECTED.search(line)
        for word in match[1].split() if match else ():
            code, _, column = word.partition(":")
            found.append((number, code, int(column) if column else None))
    return found


def excused_of(path: Path) -> set[str]:
    match = EXCUSED.search(path.read_text(encoding="utf-8").split("\n", 1)[0])
    return set(match[1].split()) if match else set()


@pytest.mark.parametrize("path", [*CASES, *SHOWN], ids=lambda path: path.stem)
def test_exactly_the_expected_findings_are_reported(path: Path) -> None:
    expected, excused = expected_of(path), excused_of(path)
    found = [(f.span.line, f.code, f.span.column) for f in check_file(path).findings if f.code not in excused]
    columns = {(line, code): column for line, code, column in expected if column is not None}
    assert sorted((line, code) for line, code, _ in found) == sorted((line, code) for line, code, _ in expected)
    for line, code, column in found:
        assert columns.get((line, code), column) == column


def test_every_case_says_something() -> None:
    """A slip in the form of an expectation would turn a case into one that expects nothing."""
    for path in [*CASES, *SHOWN]:
        lines = path.read_text(encoding="utf-8").split("\n")
        marked = [line for line in lines if "#!" in line]
        assert all(EXPECTED.search(line) or EXCUSED.search(line) for line in marked), path
        assert marked or path.stem.startswith("quiet_"), path
