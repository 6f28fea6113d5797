"""Checking again with a memory gives what checking anew gives, whatever was edited in between."""

from __future__ import annotations

import random
import re

import pytest

from sequencer.checks import Checked, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LAMP, LUNGE, changed
from sequencer.memo import Memo
from sequencer.steps import encode
from tests.generate.shows import random_show

SHOWS, EDITS = 8, 12


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


def assert_same(one: Checked, other: Checked) -> None:
    """Findings, times, steps and image."""
    assert one.findings == other.findings
    assert one.plan == other.plan
    assert (one.compiled is None) == (other.compiled is None)
    if one.compiled is not None and other.compiled is not None:
        assert (one.compiled.names, one.compiled.sources) == (other.compiled.names, other.compiled.sources)
        assert encode(one.compiled.program) == encode(other.compiled.program)


@pytest.mark.parametrize("seed", range(SHOWS))
def test_a_check_with_a_memory_gives_what_a_fresh_one_gives(seed: int) -> None:
    """Whatever is edited, undone or done again: most edits break something, so a show that compiles comes between."""
    rng, memo = random.Random(seed), Memo()
    whole = random_show(rng)
    seen = [whole]
    for _ in range(EDITS):
        text = rng.choice((edited(seen[-1], rng), edited(whole, rng), number_changed(whole, rng), rng.choice(seen)))
        assert_same(checked(text, memo), checked(text))
        seen.append(text)


def number_changed(text: str, rng: random.Random) -> str:
    """Another time in one cue line, which most often leaves the show one that compiles."""
    places = [found for found in re.finditer(r"\d+(?= ms:| s:)", text)]
    place = rng.choice(places)
    return text[: place.start()] + str(int(place[0]) + rng.choice((0, 1, 10))) + text[place.end():]


def test_most_shows_of_these_tests_compile() -> None:
    """Or the image would not be compared."""
    texts = [number_changed(random_show(random.Random(seed)), random.Random(seed)) for seed in range(SHOWS)]
    assert sum(checked(text).compiled is not None for text in texts) > SHOWS / 2


def test_a_part_that_is_edited_changes_every_scare_that_it_is_in() -> None:
    memo = Memo()
    for text in (LUNGE, changed(LUNGE, ("measured out 0.4 s", "measured out 0.9 s")),
                 changed(LUNGE, ("on box pwm0", "on box pwm1")), changed(LUNGE, ("back 0.6 s", "back 2.6 s"))):
        assert_same(checked(text, memo), checked(text))


def test_a_file_that_is_used_may_change_alone() -> None:
    memo = Memo()
    text = LAMP.replace('"\n', '"\nuse "more.show"\n', 1)

    def check_with(more: str, memo: Memo | None) -> Checked:
        return check_bytes(text.encode(), "it.show", lambda _: more.encode(), lambda name: ClipFile(name), memo)

    for lamps in ("lamp nose: on box pwm1\n", "lamp nose: on box pwm0\n", "lamp nose on box pwm2\n", ""):
        assert_same(check_with(lamps, memo), check_with(lamps, None))


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
