"""Names that nothing declares: each told once, with a near name where there is one."""

from __future__ import annotations

from sequencer.findings import Finding
from sequencer.language.book import MOST_NAMES
from sequencer.language.resolve import read_show

HEAD = '''show "Marrow Lane"
board box like avr328
lamp eyes: on box pwm0
sensor step like mat: on box in0
'''


def unknown(text: str) -> list[Finding]:
    return [one for one in read_show(text.encode(), "a.show", lambda name: b"").findings if "called" in one.message]


def test_an_unknown_name_is_told_once_over_the_show_whatever_was_due_there() -> None:
    lines = "    0 s: stepp on\n    when stepp trips, or after 2 s: eyes on\n"
    text = HEAD + "".join(f"scare s{n} on stepp trips:\n{lines}" for n in range(3))
    (told,) = unknown(text)
    assert told.message == "There is no sensor called `stepp`." and told.span.line == 5
    assert [mend.title for mend in told.mends] == ["write `step`"]


def test_two_unknown_names_are_two_findings() -> None:
    assert len(unknown(HEAD + "scare s on step trips:\n    0 s: eyse on\n    1 s: eyez on\n    2 s: eyse off\n")) == 2


def test_where_no_board_holds_so_many_names_none_is_sought() -> None:
    scares = "".join(f"scare peep{n} on step trips:\n    0 s: eyes{n} on\n" for n in range(MOST_NAMES))
    found = unknown(HEAD + scares)
    assert len(found) == MOST_NAMES and not any(one.mends for one in found)
