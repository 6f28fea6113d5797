"""From text to logical lines: characters, comments, joins, indentation, places."""

from __future__ import annotations

import random

import pytest

from sequencer.language.lines import Line, decode, read_lines, strip_comment
from tests.generate.layout import messy
from tests.generate.shows import random_rows


def texts_of(lines: list[Line]) -> list[tuple[str, list]]:
    return [(line.text, texts_of(line.block)) for line in lines]


def codes_of(text: str) -> list[str]:
    return [finding.code for finding in read_lines(text, "a.show")[1]]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_end_with_any_of_the_three_line_ends(end: str) -> None:
    forest, findings = read_lines(end.join(["scare a:", "    1 s: b on", "let c = 1 s"]), "a.show")
    assert texts_of(forest) == [("scare a:", [("1 s: b on", [])]), ("let c = 1 s", [])]
    assert [line.number for line in forest] == [1, 3]
    assert not findings


@pytest.mark.parametrize("separator", ["\u2028", "\u2029", "\x85", "\x0c", "\x0b", "\x1c"])
def test_a_separator_in_a_comment_or_a_label_does_not_end_the_line(separator: str) -> None:
    forest, findings = read_lines(f'lamp a "x{separator}y":  # z{separator}w\n    on box out1\n', "a.show")
    assert [line.number for line in forest] == [1]
    assert [line.number for line in forest[0].block] == [2]
    assert not findings


def test_a_byte_order_mark_is_no_character_of_the_first_line() -> None:
    text, findings = decode(b'\xef\xbb\xbfshow "A"\n', "a.show")
    assert text == 'show "A"\n' and not findings


@pytest.mark.parametrize(
    ("data", "code", "says"),
    [
        (b"show \x00", "L001", "zero bytes"),
        (b"show \xe9", "L001", "byte 6 (0xE9) on line 1"),
        ("show".encode("utf-16"), "L001", "UTF-16"),
        (b"#" * 2_000_001, "L002", "more than 2 MB"),
    ],
)
def test_what_is_no_text_is_refused_with_its_reason(data: bytes, code: str, says: str) -> None:
    text, (finding,) = decode(data, "a.show")
    assert text is None and finding.code == code and says in finding.message


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("eyes on # off", "eyes on "),
        ('"a # b" # c', '"a # b" '),
        ("# all", ""),
        ('show "a # b', 'show "a '),
        ("on", "on"),
    ],
)
def test_a_comment_starts_at_a_hash_outside_quotes(line: str, code: str) -> None:
    assert strip_comment(line) == code


def test_a_line_goes_on_after_a_comma_whatever_stands_between() -> None:
    forest, findings = read_lines(
        "at most 2 of a,   # first\n\n# second\n      b,\n  c extending\nlet d = 1 s\n", "a.show"
    )
    assert texts_of(forest) == [("at most 2 of a,\nb,\nc extending", []), ("let d = 1 s", [])]
    assert not findings


def test_a_place_in_a_joined_line_is_the_place_in_the_file() -> None:
    (line,), _ = read_lines("at most 2 of a,\n      bell extending\n", "a.show")
    begin = line.text.index("bell")
    span = line.span(begin, begin + 4)
    assert (span.line, span.column, span.end_line, span.end_column) == (2, 7, 2, 11)
    assert (line.whole.line, line.whole.end_line, line.whole.end_column) == (1, 2, 21)


@pytest.mark.parametrize(
    ("odd", "plain"),
    [
        ("\u00a0", " "),
        ("\u2212", "-"),
        ("\u2013", "-"),
        ("\uff1a", ":"),
        ("\u201c", '"'),
        ("\u202f", " "),
    ],
)
def test_an_odd_character_is_named_and_read_as_what_it_looks_like(odd: str, plain: str) -> None:
    (line,), (finding,) = read_lines(f"a{odd}b", "a.show")
    assert line.text == f"a{plain}b"
    assert finding.code == "L004" and finding.span.column == 2
    assert finding.mends[0].edits[0].text == plain and finding.mends[0].safe


def test_a_combining_accent_is_named_where_it_stands() -> None:
    _, findings = read_lines("lamp e\u0301yes:", "a.show")
    assert "combining acute accent" in findings[0].message and findings[0].span.column == 7


def test_odd_characters_in_labels_and_comments_are_the_authors_affair() -> None:
    assert not codes_of('show "\u201cA\u201d \u2014 b"  # \u2212 \u00a0\n')


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("a:\n    b\n\tc\n", ["L005"]),
        ("a:\n    b:\n        c\n      d\n", ["L006"]),
        ("a:\n \t b\n", ["L005"]),
        ("# only\n", ["L003"]),
        ("", ["L003"]),
        ("a" * 2_001, ["L002"]),
        ("a:\n        b\n", []),
        ("a:\n\tb:\n\t\tc\n\td\n", []),
        ("a:\n  b\n# c\n  d\n", []),
    ],
)
def test_indentation_is_told_apart_and_its_faults_are_named(text: str, codes: list[str]) -> None:
    assert codes_of(text) == codes


def test_blocks_may_stand_sixteen_deep_and_the_seventeenth_is_said_once() -> None:
    deep = "".join(f"{' ' * n}a:\n" for n in range(16))
    assert not codes_of(deep)
    assert codes_of(deep + "".join(f"{' ' * n}a:\n" for n in range(16, 20))) == ["L007"]


@pytest.mark.parametrize("seed", range(30))
def test_every_layout_of_a_show_has_the_same_blocks(seed: int) -> None:
    rng = random.Random(seed)
    rows = random_rows(rng)
    forest, findings = read_lines(messy(rows, rng).removeprefix("\ufeff"), "a.show")
    depths: list[int] = []

    def walk(lines: list[Line], depth: int) -> None:
        for line in lines:
            depths.append(depth)
            walk(line.block, depth + 1)

    walk(forest, 0)
    assert depths == [r.depth for r in rows]
    assert not findings
