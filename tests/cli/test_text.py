from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from sequencer.cli.text import blank, counted, listed, split_lines, visible, width, wrap


def test_wide_and_joining_characters_take_the_columns_of_the_standard() -> None:
    # Unicode Standard Annex 11: ideographs and full-width forms are W or F, so two columns; U+0301 joins.
    assert width("幽霊") == 4
    assert width("Ａ") == 2
    assert width("e\u0301") == 1
    assert width("\u200b") == 0


def test_a_tab_goes_to_the_next_multiple_of_eight() -> None:
    assert [width("\t", start) for start in (0, 1, 7, 8)] == [8, 7, 1, 8]


@given(st.text(st.characters(blacklist_characters="\n\r")))
def test_a_blank_is_as_wide_as_what_it_stands_for(text: str) -> None:
    assert width(blank(text)) == width(text)


@given(st.text())
def test_nothing_visible_can_steer_a_terminal(text: str) -> None:
    shown = visible(text)
    assert len(shown) == len(text)
    assert all(c == "\t" or unicodedata.category(c) not in ("Cc", "Cs") for c in shown)


def test_marks_that_turn_the_direction_of_writing_are_replaced() -> None:
    assert visible("ram \u202eno\u202c") == "ram ?no?"


def test_lines_end_at_cr_lf_and_crlf_and_nowhere_else() -> None:
    assert split_lines("a\r\nb\rc\nd\x0ce\u2028f") == ["a", "b", "c", "d\x0ce\u2028f"]


@given(st.text(st.sampled_from("ab é霊 ")), st.integers(5, 40))
def test_wrapping_keeps_every_word_and_the_room(text: str, room: int) -> None:
    lines = wrap(text, room)
    assert " ".join(lines).split() == text.split()
    assert all(width(line) <= room or " " not in line for line in lines)


def test_numbers_and_lists_read_as_english() -> None:
    assert (counted(1, "note"), counted(0, "note")) == ("1 note", "0 notes")
    assert [listed("a"), listed("ab"), listed("abc")] == ["a", "a and b", "a, b and c"]
    assert listed([]) == ""
