"""What a finding of the air advises is what would help: the part that holds the rod back, in numbers a person reads."""

from __future__ import annotations

import pytest

from sequencer.checks.examples import LUNGE, changed
from tests.checks.test_times_of_a_cue import told

UNTIMED = changed(LUNGE, (", measured out 0.4 s, back 0.6 s", ", moves 5 lb"), ("2 s: ram", "60 s: ram"),
                  ("4 s: eyes", "120 s: eyes"))


@pytest.mark.parametrize(("change", "advice"), [
    (("moves 5 lb", "moves 5 lb, needle out 1 %"), "; open its needle, or"),
    (("bench port 1, ", "bench port 1, tube 5/32 in, length 300 m, "), "; take a wider or a shorter tube, or"),
    (("valve_5_2_quarter: on box out0", "valve_5_2_quarter: on box out0, conductance 0.02 dm3/s/bar"),
     "; take a valve that passes more, or"),
])
def test_a_slow_rod_is_told_what_holds_it_back(change: tuple[str, str], advice: str) -> None:
    one, = told(changed(UNTIMED, change), "A005")
    assert advice in one.message


@pytest.mark.parametrize("wrong", ["regulator -60 psi", "regulator 74.7 psia", "regulator 900 psi", "regulator 60"])
def test_a_pressure_that_cannot_be_is_not_told_as_missing_too(wrong: str) -> None:
    text = changed(UNTIMED, ("regulator 60 psi", wrong))
    assert told(text, "C014") == [] and len([*told(text, "N010"), *told(text, "N008")]) == 1


def test_energies_are_plain_numbers() -> None:
    heavy = changed(UNTIMED, ("moves 5 lb", "moves 400 lb, lifts -60 deg"), ("reach fenced", "reach possible"))
    messages = [one.message for code in ("A004", "A007") for one in told(heavy, code)]
    assert len(messages) == 2
    assert all("e+" not in message and "00 J" in message for message in messages), messages
