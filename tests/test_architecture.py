"""The walls of the house, held by reading the source: who may import whom, which library has which door, sizes."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "sequencer"

FLOORS = (
    "frozen", "units", "findings", "phrases", "data", "memo", "cautions", "steps", "board.profiles", "rig", "air",
    "sizing", "show", "language", "schedule", "dryrun", "checks", "board", "pages", "cli",
)
"""From the ground up: a file imports only from its own room and those before it. The profiles of the boards lie low,
since the schedule and the checks must know what a board can do without opening a port."""

DOORS = {
    "lark": ("language",),
    "pydantic": ("rig", "language", "sizing"),
    "pydantic_core": ("rig", "language"),
    "serial": ("board",),
    "click": ("cli",),
    "tinytag": ("checks",),
    "resvg_py": ("pages",),
}
"""Which rooms may import which library."""

LONGEST_FILE = 400
LONGEST_FUNCTION = 60
MOST_PARAMETERS = 6
LONGEST_LINE = 120


def sources() -> list[Path]:
    every = (path for path in PACKAGE.rglob("*.py") if path.name != "__main__.py")
    return sorted(path for path in every if path != PACKAGE / "__init__.py")


def room_of(module: str) -> str:
    """`sequencer.board.profiles.host` -> `board.profiles`, `sequencer.rig.base` -> `rig`."""
    inside = module.removeprefix("sequencer.")
    if inside.startswith("board.profiles"):
        return "board.profiles"
    return inside.split(".")[0]


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            yield node.lineno, node.module or ""
            if node.module == "sequencer":
                yield from ((node.lineno, f"sequencer.{alias.name}") for alias in node.names)


@pytest.mark.parametrize("path", sources(), ids=lambda path: module_of(path))
def test_a_file_imports_only_from_its_own_room_and_those_below(path: Path) -> None:
    own = room_of(module_of(path))
    assert own in FLOORS, f"the room {own} has no floor"
    for line, module in imports_of(path):
        if module.startswith("sequencer.") and module != "sequencer.__version__":
            other = room_of(module)
            assert FLOORS.index(other) <= FLOORS.index(own), f"{path.name}:{line}: {own} imports {other}"


@pytest.mark.parametrize("path", sources(), ids=lambda path: module_of(path))
def test_each_library_has_its_door(path: Path) -> None:
    own = room_of(module_of(path)).split(".")[0]
    for line, module in imports_of(path):
        library = module.split(".")[0]
        if library in DOORS:
            assert own in DOORS[library], f"{path.name}:{line}: {own} imports {library}"


@pytest.mark.parametrize("path", sources(), ids=lambda path: module_of(path))
def test_files_functions_and_lines_can_be_read_in_one_sitting(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    lines = text.split("\n")
    assert len(lines) <= LONGEST_FILE, f"{len(lines)} lines"
    for number, line in enumerate(lines, 1):
        assert len(line) <= LONGEST_LINE, f"line {number} has {len(line)} characters"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= LONGEST_FUNCTION, f"{node.name} has {length} lines"
            names = [a.arg for a in (*node.args.posonlyargs, *node.args.args) if a.arg not in ("self", "cls")]
            assert len(names) <= MOST_PARAMETERS, f"{node.name} takes {len(names)} parameters"


@pytest.mark.parametrize("path", sources(), ids=lambda path: module_of(path))
def test_each_file_says_what_it_turns_into_what(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), "no docstring"


def test_the_top_level_holds_what_it_should() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "sequencer", "grammar", "tests", "shows",
        "firmware_stub",
    }
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - allowed - {"prop_sequencer.egg-info", "build", "dist"} == set()
