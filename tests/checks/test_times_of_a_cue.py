"""Motions too slow or too fast for what waits for them: by the bound of a wait, by a landing, by the command after."""

from __future__ import annotations

import re

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LUNGE, changed
from sequencer.findings import Finding, Severity

SEEN = changed(LUNGE, ("    lamp eyes: on box pwm0\n", """    lamp eyes: on box pwm0
    sensor ram_out like reed_switch: on box in2, sees ram out
"""), ("        4 s: eyes off", "        20 s: eyes off"),
    ("measured out 0.4 s, back 0.6 s", "measured out 1.4 s, back 1 s"))
METERED = changed(LUNGE, ("stroke 12 in, measured out 0.4 s, back 0.6 s", "stroke 12 in, moves 5 lb, needle out 40 %"))


def told(text: str, code: str) -> list[Finding]:
    found = check_bytes(text.encode(), "example.show", lambda name: b"", lambda name: ClipFile(name, trouble="none"))
    return [finding for finding in found.findings if finding.code == code]


def waiting(wait: str, after: str = "") -> str:
    return changed(SEEN, ("        0 s: ram extends, eyes on\n        2 s: ram retracts\n",
                          f"        0 s: ram extends\n{after}        {wait}: eyes on\n        12 s: ram retracts\n"))


def test_a_wait_shorter_than_the_motion_never_hears_its_sensor() -> None:
    one, = told(waiting("when ram_out trips, or after 1 s"), "T015")
    assert one.severity is Severity.WARNING
    assert "ends at its bound, 1 s after the command, and `window.ram` takes 1." in one.message


def test_a_wait_that_the_slowest_motion_outlasts_may_not_hear_it() -> None:
    """Timed at 1.4 s, its band reaches beyond that: a bound at the likely arrival is missed now and then."""
    one, = told(waiting("when ram_out trips, or after 1.4 s"), "T015")
    assert one.severity is Severity.NOTE
    assert "can end at its bound" in one.message


def test_a_wait_that_is_long_enough_is_fine() -> None:
    assert told(waiting("when ram_out trips, or after 2 s"), "T015") == []


def test_a_wait_that_begins_when_all_is_over_is_over_at_once() -> None:
    one, = told(waiting("when ram_out trips, or after 1 s", after="        6 s: eyes to 20 %\n"), "T015")
    assert one.severity is Severity.NOTE
    assert "begins 6 s after the command and is over at once" in one.message


@pytest.mark.parametrize(("wait", "codes"), [("40 ms", 1), ("1 s", 0)])
def test_a_wait_for_a_rod_to_leave_its_end(wait: str, codes: int) -> None:
    """It sets out some 0.1 s after the command."""
    text = changed(SEEN, ("        2 s: ram retracts\n",
                          f"        5 s: ram retracts\n        when ram_out clears, or after {wait}: eyes to 20 %\n"))
    assert len(told(text, "T015")) == codes


def repeating(bound: str, round_: str = "eyes on", before: str = "0.2 s") -> str:
    return changed(SEEN, ("        0 s: ram extends, eyes on\n        2 s: ram retracts\n",
                          f"        0 s: ram extends\n        {before}: repeat until ram_out trips, at most {bound}:\n"
                          f"            0 s: {round_}\n            200 ms: eyes off\n        12 s: ram retracts\n"))


@pytest.mark.parametrize(("bound", "severities"), [
    ("1 s", [Severity.WARNING]), ("1.2 s", [Severity.NOTE]), ("2 s", []),
])
def test_a_repeat_until_an_end_is_held_against_the_motion_too(bound: str, severities: list[Severity]) -> None:
    """Timed at 1.4 s, it arrives between some 1.3 and 1.5 s. The repeat begins 0.2 s after the command, in rounds of
    0.2 s, of which the last is finished."""
    found = told(repeating(bound), "T015")
    assert [one.severity for one in found] == severities
    for one in found:
        assert "This repeat until `ram_out` " in one.message or "This repeat until `window.ram_out` " in one.message


def test_a_repeat_that_begins_when_all_is_over_is_over_after_a_round() -> None:
    one, = told(repeating("1 s", before="6 s"), "T015")
    assert one.severity is Severity.NOTE
    assert "begins 6 s after the command and is over after its first round" in one.message


def test_a_repeat_that_moves_the_rod_itself_waits_for_its_own_motion() -> None:
    assert told(repeating("1 s", round_="ram extends"), "T015") == []


def test_a_wait_for_another_sensor_says_nothing_of_a_motion() -> None:
    assert told(waiting("when step trips, or after 1 s"), "T015") == []


def lands_at(time: str, needle: str) -> str:
    return changed(METERED, ("0 s: ram extends, eyes on", f"{time}: ram lands out"), ("2 s: ram", "9 s: ram"),
                   ("4 s: eyes", "14 s: eyes"), ("needle out 40 %", needle))


def test_a_landing_that_a_needle_holds_back_says_so() -> None:
    """What it says the open needle would take is what a cylinder with that needle takes."""
    slow, = told(lands_at("0.6 s", "needle out 20 %"), "C003")
    with_open = re.search(r"; with `needle out` fully open it takes ([\d.]+) s", slow.message)
    assert with_open is not None, slow.message
    open_, = told(lands_at("0.05 s", "needle out 100 %"), "C003")
    least = re.search(r"needs its valve switched ([\d.]+) s before", open_.message)
    assert least is not None
    assert float(with_open[1]) == pytest.approx(float(least[1]), abs=0.002)
    assert told(lands_at("0.6 s", "needle out 100 %"), "C003") == []


def test_a_landing_that_no_needle_makes_in_time_says_so() -> None:
    one, = told(lands_at("0.1 s", "needle out 20 %"), "C003")
    assert "even with `needle out` fully open it takes" in one.message
    assert "a larger valve or tube or less load is needed" in one.message


def test_a_landing_of_a_cylinder_without_a_needle_says_nothing_of_one() -> None:
    one, = told(lands_at("0.1 s", "needle back 50 %"), "C003")
    assert "fully open" not in one.message


def test_a_motion_that_is_turned_round_by_its_needle_says_so() -> None:
    text = changed(METERED, ("2 s: ram retracts", "0.8 s: ram retracts"), ("needle out 40 %", "needle out 15 %"))
    one, = told(text, "T003")
    assert "; with `needle out` fully open it takes 0." in one.message
