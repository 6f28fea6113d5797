"""What the memory keeps, and what it forgets."""

from __future__ import annotations

from sequencer.memo import Memo, noted


class Maker:
    """Counts how often it was asked to make something."""

    def __init__(self) -> None:
        self.made = 0

    def __call__(self) -> int:
        self.made += 1
        return self.made


def test_a_result_is_made_once() -> None:
    memo, make = Memo(), Maker()
    for _ in range(5):
        memo.new_run()
        assert memo.of("key", make) == 1
    assert memo.of("another", make) == 2


def test_notes_stay_with_the_very_object() -> None:
    memo = Memo()
    one, equal = (1, [2]), (1, [2])
    memo.about(one)["what"] = 3
    assert memo.about(one) == {"what": 3} and memo.about(equal) == {} and memo.about(one, equal) == {}


def test_no_new_object_is_taken_for_one_that_is_gone() -> None:
    memo = Memo()
    for number in range(1000):
        notes = memo.about([number])
        assert notes == {}
        notes["made"] = number


def test_what_a_note_does_not_say_is_made_and_noted() -> None:
    notes, make = Memo().about("it"), Maker()
    assert (noted(notes, "a", make), noted(notes, "a", make), noted(notes, "b", make)) == (1, 1, 2)


def test_what_is_asked_for_stays_and_what_is_not_is_forgotten_in_the_end() -> None:
    memo, kept, once = Memo(), Maker(), Maker()
    memo.new_run()
    memo.of("once", once)
    for run in range(500):
        memo.new_run()
        memo.of("kept", kept)
        memo.of(("new", run), Maker())
    assert memo.of("kept", kept) == 1
    assert memo.of("once", once) == 2


def test_it_holds_no_more_than_a_few_times_what_a_run_needs() -> None:
    memo = Memo()
    for run in range(300):
        memo.new_run()
        for number in range(100):
            memo.of((number, run if number == 0 else 0), Maker())
    assert len(memo._now) + len(memo._before) <= 5 * 100
