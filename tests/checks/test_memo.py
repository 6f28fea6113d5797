"""Checking again with a memory gives what checking anew gives, whatever was edited in between."""

from __future__ import annotations

import random
import re

from sequencer.checks import Checked, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LAMP, changed
from sequencer.memo import Memo
from tests.generate.shows import random_show

SHOWS, EDITS = 6, 6


def checked(text: str, memo: Memo | None = None) -> Checked:
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_500_000, 1_500_000), memo)


def edited(text: str, rng: random.Random) -> str:
    """One line taken out, doubled, spoilt, moved, or with another number in it."""
    lines = text.split("\n")
    at = rng.randrange(1, len(lines))
    match rng.randrange(5):
        case 0:
            del lines[at]
        case 1:
            lines.insert(at, lines[at])
        case 2:
            lines[at] = lines[at][: len(lines[at]) // 2]
        case 3:
            lines.insert(rng.randrange(1, len(lines)), lines.pop(at))
        case _:
            lines[at] = re.sub(r"\d+", lambda found: str(int(found[0]) + rng.randint(1, 9)), lines[at], count=1)
    return "\n".join(lines)


def test_a_check_with_a_memory_finds_what_a_fresh_one_finds() -> None:
    for seed in range(SHOWS):
        rng, memo = random.Random(seed), Memo()
        text = random_show(rng)
        for _ in range(EDITS):
            assert checked(text, memo).findings == checked(text).findings
            text = edited(text, rng)


def test_a_check_with_a_memory_compiles_what_a_fresh_one_compiles() -> None:
    memo = Memo()
    for seed in range(6):
        text = random_show(random.Random(seed))
        for again in (text, text.replace("+200 ms", "+220 ms"), text):
            one, other = checked(again, memo).compiled, checked(again).compiled
            assert (one is None) == (other is None)
            assert one is None or other is None or (one.program, one.sources) == (other.program, other.sources)


TWO = LAMP + """lamp nose: on box pwm1
scare peep on step clears:
    0 s: nose on
    1 s: nose off
"""


def test_a_scare_that_was_not_edited_is_not_planned_again() -> None:
    memo = Memo()
    before = checked(TWO, memo).plan
    after = checked(changed(TWO, ("1 s: nose off", "3 s: nose off")), memo).plan
    assert before is not None and after is not None
    assert after.named("glow") is before.named("glow")
    assert after.named("peep") != before.named("peep")
