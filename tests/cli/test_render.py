from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from sequencer.cli.render import render_findings, summary
from sequencer.cli.terminal import Look
from sequencer.cli.text import split_lines, width
from sequencer.findings import Edit, Finding, Label, Mend, Severity, Span

PLAIN = Look(width=80)


def at(line: int, column: int, end_line: int, end_column: int, file: str = "yard.show") -> Span:
    return Span(file, line, column, end_line, end_column)


def shown(text: str, finding: Finding, look: Look = PLAIN, **others: str) -> list[str]:
    texts = {"yard.show": text, **{f"{name}.show": other for name, other in others.items()}}
    return render_findings([finding], texts, look).split("\n")


def error(span: Span, *labels: Label, mends: tuple[Mend, ...] = ()) -> Finding:
    return Finding("C003", Severity.ERROR, span, "The ram is late.", labels, mends)


def marked(rows: list[str], sign: str = "~") -> list[str]:
    """What stands above each underline: the columns of the row above that the signs cover."""
    found = []
    above = ""
    for row in rows:
        run = re.search(re.escape(sign) + "+", row)
        if " | " in row and run and set(row.split(" | ", 1)[1]) <= {" ", "\t", sign}:
            found.append(columns(above, width(row[: run.start()]), width(row[: run.end()])))
        else:
            above = row
    return found


def columns(row: str, start: int, end: int) -> str:
    """The characters of a row that stand in the columns `start` to `end`."""
    return "".join(c for i, c in enumerate(row) if start <= width(row[:i]) < end)


def test_the_head_says_sign_word_code_and_place() -> None:
    rows = shown('show "A"\n', error(at(1, 6, 1, 9)))
    assert rows[0] == "[x] error C003 at yard.show:1:6"
    assert rows[1] == "  The ram is late."
    assert marked(rows) == ['"A"']


def test_tabs_of_the_source_are_kept_and_the_mark_stands_under_its_word() -> None:
    rows = shown("scare lunge:\n\t1.2 s:\tram lands out\n", error(at(2, 9, 2, 12)))
    line = next(row for row in rows if "lands" in row)
    assert "\t1.2 s:\tram" in line
    assert marked(rows) == ["ram"]


def test_a_marked_tab_can_be_seen() -> None:
    rows = shown("\tram\n", error(at(1, 1, 1, 2)))
    assert any(row.endswith("~~") for row in rows)


@given(
    st.text(st.sampled_from("ab é\t霊e\u0301#"), max_size=30),
    st.text(st.sampled_from("xy霊é"), min_size=1, max_size=8),
    st.text(st.sampled_from("ab \t霊"), max_size=10),
)
def test_a_mark_covers_exactly_the_columns_of_its_words(before: str, word: str, after: str) -> None:
    rows = shown(before + word + after, error(at(1, len(before) + 1, 1, len(before + word) + 1)), Look(200))
    # An accent written apart joins the character before it, which may stand outside the mark.
    assert [m.strip("\u0301") for m in marked(rows)] == [word]


def test_labels_are_second_underlines_with_their_words() -> None:
    labels = (Label(at(1, 1, 1, 5), "the show"), Label(at(3, 1, 3, 4), "the ram"))
    rows = shown('show "A"\n\nram eyes\n', error(at(3, 5, 3, 9), *labels))
    assert marked(rows) == ["eyes"]
    assert [row.split("| ", 1)[1] for row in rows if "----" in row] == ["---- the show"]
    assert rows[-1].endswith("--- the ram")
    assert "  ..." in rows  # between the lines 1 and 3


def test_a_label_on_the_finding_itself_lends_it_its_words() -> None:
    rows = shown("1.2 s: ram lands out", error(at(1, 1, 1, 6), Label(at(1, 1, 1, 6), "earliest 1.35 s")))
    assert rows[-1].endswith("~~~~~ earliest 1.35 s")


def test_a_label_in_another_file_names_it() -> None:
    label = Label(at(2, 1, 2, 4, "rig.show"), "here")
    rows = shown('use "rig.show"', error(at(1, 1, 1, 4), label), rig="\nram\n")
    assert "  and at rig.show:2:1" in rows
    assert rows[-1].endswith("--- here")


def test_a_span_of_several_lines_marks_each_and_leaves_out_the_middle_of_a_long_one() -> None:
    text = "\n".join(f"    line{number}" for number in range(1, 10))
    assert marked(shown(text, error(at(1, 5, 2, 8)))) == ["line1", "lin"]
    rows = shown(text, error(at(1, 5, 9, 10)))
    assert marked(rows) == ["line1", "line2", "line3", "line9"]
    assert "  ..." in rows


def test_a_span_that_ends_where_a_line_starts_does_not_show_that_line() -> None:
    assert marked(shown("one\ntwo\n", error(at(1, 1, 2, 1)))) == ["one"]


def test_a_long_line_is_cut_to_the_width_around_what_is_marked() -> None:
    text = "a" * 300 + " ram " + "b" * 300
    rows = shown(text, error(at(1, 302, 1, 305)), Look(60))
    assert marked(rows) == ["ram"]
    assert all(width(row) <= 60 for row in rows)


@given(
    st.text(st.sampled_from("ab é\t霊e\u0301\x1b\n"), max_size=200),
    st.tuples(*[st.integers(1, 60)] * 4),
    st.integers(40, 120),
)
def test_any_span_in_any_text_gives_rows_within_the_width(
    text: str, place: tuple[int, int, int, int], wide: int
) -> None:
    span = at(place[0], place[1], place[0] + place[2] % 5, place[3])
    mend = Mend("write ram", (Edit(span, "ram"),))
    rows = shown(text, error(span, Label(span.start, "why " * 20), mends=(mend,)), Look(wide))
    # A tab that lost its place may widen a row that was cut; no row is wider by more than that.
    assert all(width(row) <= wide + 8 for row in rows)
    assert not any("\x1b" in row for row in rows)


def test_a_mend_shows_the_line_it_would_give() -> None:
    text = "    1.20 s: ram lands out\n"
    mends = (
        Mend("write 1.35 s", (Edit(at(1, 5, 1, 11), "1.35 s"),), safe=True),
        Mend("take it out", (Edit(at(1, 1, 2, 1), ""),)),
    )
    rows = shown(text, error(at(1, 5, 1, 11), mends=mends))
    assert "  mend (safe): write 1.35 s" in rows
    assert "    1 +     1.35 s: ram lands out" in rows
    assert "  mend: take it out" in rows
    assert "    1 -     1.20 s: ram lands out" in rows


def test_a_place_past_the_end_of_the_text_is_shown_at_its_end() -> None:
    rows = shown("one", error(at(9, 4, 9, 7)))
    assert rows[-1].endswith("| " + "   " + "^")


def test_without_the_text_the_finding_is_said_all_the_same() -> None:
    assert render_findings([error(at(1, 1, 1, 2))], {}, PLAIN).split("\n") == [
        "[x] error C003 at yard.show:1:1",
        "  The ram is late.",
    ]


def test_colour_adds_nothing_but_colour() -> None:
    finding = error(at(1, 6, 1, 9), mends=(Mend("write", (Edit(at(1, 6, 1, 9), '"B"'),), safe=True),))
    plain = render_findings([finding], {"yard.show": 'show "A"'}, PLAIN)
    coloured = render_findings([finding], {"yard.show": 'show "A"'}, Look(80, colour=True))
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


def test_signs_and_underlines_are_ascii() -> None:
    rows = shown('show "A"\n', error(at(1, 6, 1, 9), Label(at(1, 1, 1, 5), "why")))
    assert "".join(rows).isascii()


def test_the_summary_counts_each_severity_and_the_safe_mends() -> None:
    note = Finding("C009", Severity.NOTE, at(1, 1, 1, 1), "By the way.")
    mended = error(at(1, 1, 1, 2), mends=(Mend("write", (Edit(at(1, 1, 1, 2), "x"),), safe=True),))
    assert summary([mended, error(at(2, 1, 2, 2)), note], "yard.show", PLAIN) == (
        "[x] yard.show: 2 errors and 1 note. `--mend` mends 1 of them."
    )
    assert summary([mended, mended], "yard.show", PLAIN) == "[x] yard.show: 2 errors. `--mend` mends all of them."
    assert summary([mended], "yard.show", PLAIN) == "[x] yard.show: 1 error. `--mend` mends it."
    assert summary([], "yard.show", PLAIN) == "[ok] yard.show: nothing found."


def test_a_file_name_cannot_steer_the_terminal() -> None:
    finding = error(at(1, 1, 1, 2, "yard\x1b[2J.show"))
    assert "\x1b" not in render_findings([finding], {}, PLAIN)


def test_the_number_of_lines_split_is_that_of_the_file() -> None:
    assert len(split_lines("a\nb\n")) == 3
