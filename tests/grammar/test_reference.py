"""The reference is true: its examples run, its tables are those of the models, and it names all there is.

Fenced blocks marked `show` are examples. What stands after the word says how a piece becomes a whole show:

    show            a whole show
    show the yard   a whole show, and the one that the pieces go into
    show rig        after a title, a board and a stop button
    show top        after the yard, at the left edge
    show window     in the prop `window` of the yard, which is its last part
    show cues       in a scare of that prop

`fails CODE` at the end: that code must be found, and no other of its severity or a graver one. All others give neither
an error nor a warning.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from sequencer.checks.clips import ClipFile
from sequencer.checks.pipeline import catalogue, check_bytes
from sequencer.cli.group import SECTIONS
from sequencer.data import folder
from sequencer.findings import Finding, Severity
from sequencer.language.book import RESERVED
from sequencer.language.load import folder_reader
from sequencer.rig import KINDS
from tests.grammar import meanings, reference_tables

TEXT = reference_tables.REFERENCE.read_text(encoding="utf-8")
WALKTHROUGH = reference_tables.ROOT / "shows" / "marrow_lane" / "WALKTHROUGH.md"
_BLOCK = re.compile(r"^```show(?P<words>[^\n]*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
_CODE = re.compile(r"\b[A-Z]\d{3}\b")
RIG = """show "An example"
board box like avr2560
sensor red_button like stop_mushroom: on box in13
stop on red_button trips:
"""
SCARE = "    scare example on step trips:\n"
GRAVER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


@dataclass(frozen=True)
class Example:
    line: int
    kind: str
    fails: str | None
    text: str


def examples() -> Iterator[Example]:
    for match in _BLOCK.finditer(TEXT):
        kind, _, code = match["words"].strip().partition("fails ")
        yield Example(TEXT.count("\n", 0, match.start()) + 1, kind.strip(), code or None, match["text"])


EXAMPLES = tuple(examples())
YARD = next(example.text for example in EXAMPLES if example.kind == "the yard")


def completed(example: Example) -> str:
    """The example as a whole show."""
    match example.kind:
        case "" | "the yard":
            return example.text
        case "rig":
            return RIG + example.text
        case "top" | "window":
            return YARD + example.text
        case "cues":
            lines = [f"        {line}" if line else "" for line in example.text.split("\n")]
            return YARD + SCARE + "\n".join(lines)
    raise AssertionError(f"line {example.line}: no kind of example is called {example.kind!r}")


def found(text: str) -> tuple[Finding, ...]:
    """All findings; files are those of Marrow Lane, and every sound is there and lasts 2 s."""
    def sound(file: str) -> ClipFile:
        return ClipFile(file, 2_000_000, 2_000_000)

    return check_bytes(text.encode(), "example.show", folder_reader(folder("shows") / "marrow_lane"), sound).findings


def told(findings: tuple[Finding, ...]) -> str:
    return "\n".join(f"{f.code} {f.severity.value} line {f.span.line}: {f.message}" for f in findings)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: f"line {one.line}")
def test_an_example_gives_what_it_says(example: Example) -> None:
    findings = found(completed(example))
    if example.fails is None:
        assert not [f for f in findings if f.severity is not Severity.NOTE], told(findings)
        return
    hit = [f for f in findings if f.code == example.fails]
    assert hit, told(findings)
    gravest = GRAVER[hit[0].severity]
    assert {f.code for f in findings if GRAVER[f.severity] <= gravest} == {example.fails}, told(findings)


def test_the_reference_has_many_examples_that_work_and_many_that_fail() -> None:
    assert len([one for one in EXAMPLES if one.fails]) >= 20
    assert len([one for one in EXAMPLES if not one.fails]) >= 25


def test_the_generated_tables_are_current() -> None:
    assert reference_tables.renewed(TEXT) == TEXT, "run python tests/grammar/reference_tables.py"


@pytest.mark.parametrize("name", reference_tables.SECTIONS)
def test_every_generated_table_stands_in_the_reference_once(name: str) -> None:
    assert TEXT.count(f"<!-- generated: {name} -->\n") == 1


@pytest.mark.parametrize("name", KINDS)
def test_every_phrase_and_verb_has_its_words_and_no_word_is_left_over(name: str) -> None:
    kind = KINDS[name]
    assert set(meanings.PHRASES[name]) == set(kind.phrases)
    assert set(meanings.VERBS.get(name, ())) == {verb.phrase for verb in kind.verbs}


def test_only_kinds_that_exist_have_words() -> None:
    assert set(meanings.PHRASES) == set(KINDS)
    assert set(meanings.VERBS) <= set(KINDS)
    for kind, phrase in meanings.NEEDED_SOMETIMES:
        assert phrase in KINDS[kind].phrases


def grammar_words() -> set[str]:
    """Every literal word in the grammar."""
    grammar = (Path(folder("grammar")) / "show.lark").read_text(encoding="utf-8")
    rules = "\n".join(line for line in grammar.split("\n") if not line.startswith("//"))
    return set(re.findall(r'"([a-z]+)"', rules))


def test_every_word_of_the_grammar_occurs_in_an_example_or_a_table() -> None:
    quoted = " ".join(re.findall(r"`[^`\n]+`", TEXT)) + "".join(one.text for one in EXAMPLES)
    missing = {word for word in grammar_words() if not re.search(rf"(?<!\w){word}(?!\w)", quoted)}
    assert not missing


def test_the_last_chapter_lists_the_words_that_cannot_be_names_and_all_others() -> None:
    chapter = TEXT[TEXT.index("## The words of the language"):TEXT.index("### The shelf")]
    reserved, others = chapter.split("The rest of the words")
    assert set(re.findall(r"`(\w+)`", reserved)) == RESERVED | {"let"}
    assert set(re.findall(r"`(\w+)`", others)) == grammar_words() - RESERVED


@pytest.mark.parametrize("code", sorted(set(_CODE.findall(TEXT))))
def test_every_code_that_the_reference_names_is_in_the_catalogue(code: str) -> None:
    assert code in catalogue()


@pytest.mark.parametrize("page", [reference_tables.REFERENCE, WALKTHROUGH], ids=lambda path: path.name)
def test_every_command_that_a_page_names_is_one_of_the_tool(page: Path) -> None:
    named = set(re.findall(r"`sequencer ([a-z-]+)", page.read_text(encoding="utf-8")))
    assert named <= {name for names in SECTIONS.values() for name in names}


NOT_USED_YET = (
    "flow_at", "relief",
)


def modules_of_the_tool() -> set[Path]:
    """Every file that something outside the air room leads to, itself included; the rig only keeps what is said.

    Pieces of the air model that nothing asks yet compute for their own tests alone.
    """
    root = reference_tables.ROOT / "sequencer"
    every = {path for path in root.rglob("*.py") if path.relative_to(root).parts[0] != "rig"}
    open_ = [path for path in every if path.relative_to(root).parts[0] != "air"]
    found: set[Path] = set()
    while open_:
        path = open_.pop()
        if path not in found:
            found.add(path)
            open_ += imported_by(path) & every
    return found


def imported_by(path: Path) -> set[Path]:
    """The files of the package that one file imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    places = [reference_tables.ROOT.joinpath(*name.split(".")) for name in names if name.startswith("sequencer")]
    return {place for at in places for place in (at.with_suffix(".py"), at / "__init__.py") if place.is_file()}


@pytest.mark.parametrize("field", NOT_USED_YET)
def test_what_the_reference_says_is_not_used_yet_is_not_used(field: str) -> None:
    """Fails once the tool computes with it; the paragraph `Kept, and not used yet` then says too much."""
    readers = [path for path in modules_of_the_tool() if re.search(rf"\.{field}\b", path.read_text(encoding="utf-8"))]
    assert not readers


def test_what_the_tool_leads_to_is_found_behind_its_late_imports() -> None:
    found = {path.relative_to(reference_tables.ROOT).as_posix() for path in modules_of_the_tool()}
    assert {"sequencer/air/stroke.py", "sequencer/air/mechanism/build.py", "sequencer/cli/demo.py"} <= found


def anchor_of(heading: str) -> str:
    """The anchor that the common renderers of Markdown make of a heading (from memory)."""
    plain = re.sub(r"[^\w\- ]", "", heading.strip().lower())
    return plain.replace(" ", "-")


def test_every_link_inside_the_reference_leads_somewhere() -> None:
    anchors = {anchor_of(heading) for heading in re.findall(r"^#+ (.+)$", TEXT, re.MULTILINE)}
    assert set(re.findall(r"\]\(#([^)]+)\)", TEXT)) <= anchors
    for link in re.findall(r"\]\(([^#)][^)]*)\)", TEXT):
        assert (reference_tables.REFERENCE.parent / link).is_file(), link
