from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sequencer.cli.edits import apply_edits, chosen, line_end_of, preview
from sequencer.cli.text import split_lines
from sequencer.findings import Edit, Mend, Span


def edit(line: int, column: int, end_line: int, end_column: int, text: str, file: str = "a.show") -> Edit:
    return Edit(Span(file, line, column, end_line, end_column), text)


def test_edits_are_made_in_one_pass_whatever_their_order() -> None:
    text = "ram lands out\neyes on\n"
    edits = [edit(1, 1, 1, 4, "hammer"), edit(2, 1, 2, 5, "lamp"), edit(1, 11, 1, 14, "home")]
    assert apply_edits(text, edits) == apply_edits(text, reversed(edits)) == "hammer lands home\nlamp on\n"


def test_a_line_end_put_in_is_that_of_the_file() -> None:
    assert apply_edits("a\r\nb\r\n", [edit(1, 2, 1, 2, "\nnew")]) == "a\r\nnew\r\nb\r\n"
    assert line_end_of("a\rb\rc\n") == "\r"
    assert line_end_of("no end") == "\n"


def test_columns_count_code_points() -> None:
    assert apply_edits("幽霊 on", [edit(1, 4, 1, 6, "off")]) == "幽霊 off"


def test_a_line_is_taken_out_with_its_end() -> None:
    assert apply_edits("a\nb\nc", [edit(2, 1, 3, 1, "")]) == "a\nc"


def test_what_lies_past_the_end_is_put_at_the_end() -> None:
    assert apply_edits("a", [edit(7, 3, 7, 9, "!")]) == "a!"


@given(st.text(st.sampled_from("ab \n")), st.data())
def test_an_edit_replaces_exactly_its_stretch(text: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))

    def place(offset: int) -> tuple[int, int]:
        before = split_lines(text[:offset])
        return len(before), len(before[-1]) + 1

    made = apply_edits(text, [edit(*place(start), *place(end), "X")])
    assert made == text[:start] + "X" + text[end:]


def test_of_mends_that_meet_the_first_is_taken() -> None:
    first = Mend("one", (edit(1, 1, 1, 4, "a"), edit(3, 1, 3, 2, "b")))
    meets = Mend("two", (edit(3, 1, 3, 5, "c"),))
    same_place = Mend("three", (edit(1, 1, 1, 1, "d"),))
    beside = Mend("four", (edit(1, 4, 1, 6, "e"),))
    elsewhere = Mend("five", (edit(1, 1, 1, 4, "f", "b.show"),))
    assert chosen([first, meets, same_place, beside, elsewhere]) == (first, beside, elsewhere)


def test_a_mend_without_edits_is_none_to_make() -> None:
    assert chosen([Mend("think again", ())]) == ()


def test_a_preview_shows_each_stretch_before_and_after() -> None:
    lines = ["a", "b", "c", "d", "e"]
    mend = Mend("both", (edit(1, 1, 1, 2, "A"), edit(4, 1, 5, 1, "")))
    first, second = preview(lines, mend, "a.show")
    assert (first.line, first.before, first.after) == (1, ("a",), ("A",))
    assert (second.line, second.before, second.after) == (4, ("d", "e"), ("e",))
