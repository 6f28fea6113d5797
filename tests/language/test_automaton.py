"""The automaton reads what lark reads by the same grammar, to the same heads; its tables are never another one's."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lark import UnexpectedInput

from sequencer.data import folder
from sequencer.language import grammar
from sequencer.language.grammar import STARTS, Engine, engine, tables_of
from sequencer.language.lines import Line
from sequencer.language.repairs import trace
from tests.bench.bar_mutate import slip
from tests.generate.shows import random_show

SHIPPED = [line.strip() for path in sorted(Path(folder("shows")).rglob("*.show"))
           for line in path.read_text("utf-8").splitlines() if line.strip()]
WORDS = re.findall(r'"([^"\n]+)"(?!\w)', (Path(folder("grammar")) / "show.lark").read_text("utf-8"))
ODD = ("eyes", "window.ram", "1:30", "1:30 pm", "3rd", "1 s", "1s", "1/0 s", "-3-1/2 in", "2/2", "3 of 4", "\n", '"',
       '"A"', "12.5", "12.", "5 dm3/s/bar", "50 %", "\u00e9t\u00e9", "#", "@", "timesx", "1st2", "")


def both(text: str, start: str) -> tuple[object, object]:
    """What lark makes of a line, and what the automaton does; None where it cannot be read."""
    reads = engine()
    reads.builder.line = Line("a.show", 1, "", text, ((0, 1, 1),))
    reads.builder.complaints.clear()
    try:
        due: object = reads.lark.parse(text, start=start), tuple(reads.builder.complaints)
    except UnexpectedInput:
        due = None
    reads.builder.complaints.clear()
    head = reads.quick.read(text, start)
    found = None if head is None else (head, tuple(reads.builder.complaints))
    reads.builder.complaints.clear()
    return due, found


def test_every_line_of_the_shows_is_read_as_lark_reads_it() -> None:
    read = 0
    for text in SHIPPED:
        for start in STARTS:
            due, found = both(text, start)
            assert found == due, (text, start)
            read += due is not None
    assert read > 300


@given(st.integers(0, 2**32), st.sampled_from(STARTS))
def test_spoilt_lines_are_read_by_both_or_by_neither(seed: int, start: str) -> None:
    rng = random.Random(seed)
    made = slip(random_show(rng, mess=True), rng)
    lines = made.text.split("\n") if made else []
    for text in rng.sample(lines, min(len(lines), 12)):
        due, found = both(text.strip(), start)
        assert found == due


@given(st.lists(st.sampled_from((*WORDS, *ODD)), max_size=9), st.sampled_from(("", " ")), st.sampled_from(STARTS))
def test_words_put_together_by_chance_are_read_by_both_or_by_neither(
    words: list[str], between: str, start: str
) -> None:
    due, found = both(between.join(words), start)
    assert found == due


def test_the_tokens_are_those_of_lark() -> None:
    for text in SHIPPED:
        if engine().quick.read(text, "cue_line") is not None:
            due = trace(engine().lark, text, "cue_line").tokens
            found = engine().quick.tokens(text, "cue_line")
            assert [(t, t.type, t.start_pos, t.end_pos) for t in found] == [
                (t, t.type, t.start_pos, t.end_pos) for t in due]


@pytest.fixture
def kept_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(grammar, "cache_file", lambda name: str(tmp_path / name))
    return tmp_path


def test_kept_tables_are_the_ones_that_are_made(kept_here: Path) -> None:
    first = Engine()
    made = first._tables()
    assert made == tables_of(first.lark)
    again = Engine()
    assert again._tables() == made
    assert "lark" not in vars(again), "lark was loaded, though all it made was kept"


def test_the_tables_of_another_grammar_are_made_anew(kept_here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Engine()._tables()
    changed = grammar._grammar().replace(b'"rest" amount', b'"pause" amount')
    monkeypatch.setattr(grammar, "_grammar", lambda: changed)
    reads = Engine()
    reads.builder.line = Line("a.show", 1, "", "pause 3 s", ((0, 1, 1),))
    assert reads.quick.read("pause 3 s", "policy_line") is not None
    assert reads.quick.read("rest 3 s", "policy_line") is None


def test_the_tables_of_another_lark_are_made_anew(kept_here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Engine()._tables()
    (kept,) = kept_here.glob("tables-*")
    here = grammar._made_of()
    assert here is not None and grammar._kept(str(kept), here) is not None
    other = Path(kept_here / "lark.py")
    other.write_text('__version__ = "99"\n', encoding="utf-8")
    spec = grammar.PathFinder.find_spec("lark")
    assert spec is not None
    monkeypatch.setattr(spec, "origin", str(other))
    monkeypatch.setattr(grammar.PathFinder, "find_spec", lambda name: spec)
    made_of = grammar._made_of()
    assert made_of is not None and grammar._kept(str(kept), made_of) is None


def test_a_file_that_was_spoilt_on_the_disk_is_not_taken(kept_here: Path) -> None:
    made = Engine()._tables()
    (kept,) = kept_here.glob("tables-*")
    data, made_of = kept.read_bytes(), grammar._made_of()
    assert made_of is not None
    rng = random.Random(1)
    for _ in range(300):
        spoilt = bytearray(data)
        spoilt[rng.randrange(len(spoilt))] ^= 1 << rng.randrange(8)
        kept.write_bytes(spoilt)
        assert grammar._kept(str(kept), made_of) is None
    kept.write_bytes(data)
    assert grammar._kept(str(kept), made_of) == made
    assert replace(made, blank="x") != made
