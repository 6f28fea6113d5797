"""A file read in pieces is the file read in one."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.findings import in_order
from sequencer.language import reader
from sequencer.language.patience import MOST_OF_A_LINE, Patience
from sequencer.language.pieces import pieces_of
from sequencer.memo import Memo
from tests.bench.bar_mutate import slip
from tests.generate.shows import random_show

LINES = st.sampled_from((
    "lamp a: on box pwm0", "lamp a: on box pwm0,", "prop b:", "    lamp c:", "    lamp c: on box out1,", "        on x",
    "  # note", "# note,", "", "  ", "scare d on step trips:", "    0 s: a on", "    1 s: a off,", "+1 s: a on",
    "2 of:", "\u00a0lamp e: on box out2", "t\u00fcr f:", "    lamp g: on box 0,5", "x" * 2001, "\t0 s: a on", '"', ",",
    "1 s; a on",
))
ENDS = st.sampled_from(("\n", "\r\n", "\r", "\n", "\n"))


def assert_same(text: str) -> None:
    pieces = reader._in_pieces(text, "a.show", Memo())
    if pieces is not None:
        whole = reader._in_one(text, "a.show", Memo())
        assert pieces.nodes == whole.nodes
        assert in_order(pieces.findings) == in_order(whole.findings)


@given(st.lists(st.tuples(LINES, ENDS), max_size=12))
@settings(deadline=None)
def test_pieces_give_what_the_whole_gives(rows: list[tuple[str, str]]) -> None:
    assert_same("".join(line + end for line, end in rows))


@given(st.integers(0, 2**32))
@settings(deadline=None)
def test_shows_with_slips_too(seed: int) -> None:
    rng = random.Random(seed)
    text = random_show(rng, mess=seed % 2 == 0)
    for _ in range(3):
        made = slip(text, rng)
        text = text if made is None else made.text
    assert_same(text)


@given(st.lists(st.tuples(LINES, ENDS), max_size=12))
def test_pieces_joined_are_the_text_and_know_their_lines(rows: list[tuple[str, str]]) -> None:
    text = "".join(line + end for line, end in rows)
    pieces = pieces_of(text)
    if pieces:
        assert "".join(piece for _, piece in pieces) == text
        for index, (number, _) in enumerate(pieces):
            before = "".join(piece for _, piece in pieces[:index])
            assert number == before.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1


def test_a_show_is_read_in_pieces() -> None:
    text = 'show "A"\n# all of it\nlamp a: on box pwm0\n\nscare d on step trips:\n    0 s: a on,\n        b on\n'
    assert [number for number, _ in pieces_of(text)] == [1, 3, 5]
    assert reader._in_pieces(text, "a.show", Memo()) is not None


def test_a_line_that_goes_on_joins_two_pieces() -> None:
    text = 'show "A"\nlamp a: on box pwm0,\n# so\nlamp b: on box pwm1\n'
    assert_same(text)
    assert len(reader._in_pieces(text, "a.show", Memo()).findings) == 1


def test_what_hangs_on_the_file_as_a_whole_is_read_in_one() -> None:
    indented = "    lamp a: on box pwm0\nlamp b: on box pwm1\n"
    with_tabs = "lamp a:\n\ton box pwm0\nlamp b: on box pwm1\n"
    for text in (indented, with_tabs, "lamp a:\n"):
        assert reader._in_pieces(text, "a.show", Memo()) is None


def test_a_search_for_mends_that_takes_all_patience_is_one_of_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is left for a line then hangs on the lines above, in whatever pieces they are."""
    most = MOST_OF_A_LINE + 20_000
    monkeypatch.setattr(reader, "MOST_OF_A_FILE", most)
    monkeypatch.setattr(reader, "Patience", lambda: Patience(most))
    broken = "scare d on step trips:\n    0 s lamp_of_the_frame to to 50 % over over 1 s, signal on on, bell off off\n"
    text, memo = broken * 40, Memo()
    assert reader._in_pieces(text, "a.show", memo) is None
    anew = reader.read_document(text.encode(), "a.show")
    offered = [bool(finding.mends) for finding in anew.findings]
    assert offered[0] and not offered[-1]
    for again in (text, text, text[len(broken):], text):
        assert reader.read_document(again.encode(), "a.show", memo) == reader.read_document(again.encode(), "a.show")
