"""The formatter: one style, same meaning, nothing lost. Laws over random shows, and the style by example."""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sequencer.language.formatter import format_source, same_show
from sequencer.language.lines import strip_comment
from sequencer.language.reader import read_document
from tests.generate.layout import row
from tests.generate.shows import random_show, shows

BREAK = re.compile(r"\r\n|\n|\r")

MESSY = (
    'show   "Marrow Lane"# title\n\n\n\nlet beat=462ms\n'
    "line yard from shed:tube 3/8in,length 50 ft\nmanifold bench on yard :ports 8\n"
    'prop window "The drowned signalman":\n'
    "  lamp eyes:on box pwm1,draws 3W # as sold\n"
    "  # the voice\n"
    "  speaker throat : on box out7\n"
    '      clip growl "growl.wav"\n'
    "  scare lunge on step trips:\n"
    "       rest 25s\n"
    "\n"
    "       0.0 s:eyes to 100% over 400 ms,\n"
    "  throat plays growl # both\n"
    "       +  800 ms : eyes off\n"
    "       # and then\n"
    "       then:eyes to 0 % over 1 s   # out\n"
    "     # under the scare\n"
    "  # under the prop\n"
    "night:\n"
    "  opens 6:00pm,closes 10:30  pm\n"
)
STYLED = (
    'show "Marrow Lane"  # title\n\nlet beat = 462 ms\n'
    "line yard from shed:    tube 3/8 in, length 50 ft\nmanifold bench on yard: ports 8\n"
    'prop window "The drowned signalman":\n'
    "    lamp eyes: on box pwm1, draws 3 W  # as sold\n"
    "    # the voice\n"
    "    speaker throat: on box out7\n"
    '        clip growl "growl.wav"\n'
    "    scare lunge on step trips:\n"
    "        rest 25 s\n"
    "\n"
    "        0.0 s:    eyes to 100 % over 400 ms,\n"
    "                  throat plays growl  # both\n"
    "        +800 ms:  eyes off\n"
    "        # and then\n"
    "        then:     eyes to 0 % over 1 s  # out\n"
    "    # under the scare\n"
    "    # under the prop\n"
    "night:\n"
    "    opens 6:00 pm, closes 10:30 pm\n"
)


def comments_of(text: str) -> list[str]:
    parts = (line[len(strip_comment(line)) :].rstrip() for line in BREAK.split(text))
    return [comment for comment in parts if comment]


def test_the_style_by_example() -> None:
    assert format_source(MESSY) == STYLED


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(shows())
def test_a_formatted_show_is_stable_and_keeps_its_meaning_and_comments(text: str) -> None:
    styled = format_source(text)
    assert styled != text or format_source(text + "\n\n") == text
    assert format_source(styled) == styled
    assert same_show(text, styled)
    assert comments_of(styled) == comments_of(text)
    assert styled.startswith("\ufeff") == text.startswith("\ufeff")
    assert set(re.findall(r"\r\n|\n|\r", styled)) <= set(re.findall(r"\r\n|\n|\r", text))


@pytest.mark.parametrize("seed", range(20))
def test_formatting_a_plainly_laid_out_show_changes_none_of_its_words(seed: int) -> None:
    words = [re.findall(r'"[^"]*"|\S', random_show(random.Random(seed)))]
    styled = format_source(random_show(random.Random(seed)))
    assert [re.findall(r'"[^"]*"|\S', styled)] == words


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_stay_what_they_are(end: str) -> None:
    assert format_source("\ufeff" + MESSY.replace("\n", end)) == "\ufeff" + STYLED.replace("\n", end)


def test_mixed_line_ends_become_the_most_frequent_one() -> None:
    mixed = 'show "A"\r\nuse "b.show"\r\nuse  "c.show"\n'
    assert format_source(mixed) == 'show "A"\r\nuse "b.show"\r\nuse "c.show"\r\n'


def test_tabs_become_four_spaces_a_block() -> None:
    assert format_source('prop hatch:\n\tlamp eyes:\n\t\ton box pwm1\n') == (
        "prop hatch:\n    lamp eyes:\n        on box pwm1\n")


@pytest.mark.parametrize("broken", [
    'show  "A"\nscare lunge on step trips\n   1 s: eyes on\n',
    'show  \u201cA\u201d\n', 'show  "A\n', "", "# only  this",
    'show  "A"\n    use "b.show"\n', 'let a = 1/0 s\nshow  "A"\n',
])
def test_a_text_with_a_fault_comes_back_as_it_was(broken: str) -> None:
    assert read_document(broken.encode(), "a.show").findings
    assert format_source(broken) == broken


def test_the_comparison_of_shows_sees_a_changed_number_and_not_a_changed_place() -> None:
    assert same_show('show "A"\nlet beat = 4 s\n', '\n# so\nshow   "A"\nlet beat = 4s')
    assert not same_show('show "A"\nlet beat = 4 s\n', 'show "A"\nlet beat = 5 s\n')
    assert not same_show('show "a  b"\n', 'show "a b"\n')


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet='ab1 \t\n\r":#,+=%.-/\u00a0\u201c\u2028\x0c\ufeff\ud800\u00e9' + "show then", max_size=80))
def test_any_text_can_be_formatted_and_the_result_is_stable(text: str) -> None:
    styled = format_source(text)
    assert format_source(styled) == styled


def test_the_words_of_a_row_are_those_of_its_text() -> None:
    assert row(0, 'night: opens 6:00 pm, "a, b"').tokens == ("night", ":", "opens", "6:00", "pm", ",", '"a, b"')
