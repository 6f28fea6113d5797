"""Every rule of the schedule bites on its failing example and leaves the mended one alone."""

from __future__ import annotations

import re

import pytest

from sequencer.board.profiles import profile_by_name
from sequencer.findings import Edit, Finding, Rule, Severity, has_errors
from sequencer.rig.board import Board
from sequencer.schedule import rules
from tests.schedule.yard import lunge, planned, scare


def findings_of(text: str) -> tuple[Finding, ...]:
    """Those of the plan, and of the program where the plan is fine."""
    made = planned(text)
    if not made.fine:
        return made.findings
    board = made.show.of_kind("board")[0].part
    assert isinstance(board, Board)
    profile = profile_by_name(board.model)
    assert profile is not None
    return (*made.findings, *made.compiled(profile).findings)


@pytest.mark.parametrize("rule", rules.ALL, ids=lambda rule: rule.code)
def test_the_failing_example_fails_and_the_mended_one_is_quiet(rule: Rule) -> None:
    assert {finding.code for finding in findings_of(rule.failing)} == {rule.code}
    assert findings_of(rule.mended) == ()


def test_codes_run_on_without_gaps() -> None:
    assert [rule.code for rule in rules.ALL] == [f"C{number:03}" for number in range(1, len(rules.ALL) + 1)]


@pytest.mark.parametrize("rule", [rule for rule in rules.ALL if rule.code in ("C001", "C002", "C003", "C004", "C007")],
                         ids=lambda rule: rule.code)
def test_the_first_mend_mends(rule: Rule) -> None:
    finding = findings_of(rule.failing)[0]
    (edit,) = finding.mends[0].edits
    assert findings_of(edited(rule.failing, edit)) == ()


@pytest.mark.parametrize("rule", rules.ALL, ids=lambda rule: rule.code)
def test_a_message_is_a_sentence_with_numbers_or_names(rule: Rule) -> None:
    for finding in findings_of(rule.failing):
        assert re.match(r"[A-Z`]", finding.message) and finding.message.endswith(".")
        assert re.search(r"\d|`|window", finding.message)


def edited(text: str, edit: Edit) -> str:
    lines = text.split("\n")
    row = lines[edit.span.line - 1]
    lines[edit.span.line - 1] = row[: edit.span.column - 1] + edit.text + row[edit.span.end_column - 1 :]
    return "\n".join(lines)


def test_a_passed_line_says_by_how_much() -> None:
    made = lunge("1 s: repeat 4 times every 500 ms:", "    0 s: a on", "    100 ms: a off", "2.5 s: b on")
    assert made.codes == ["C001"]
    assert "0.5 s later" in made.findings[0].message


def test_a_line_that_can_be_passed_says_on_which_path() -> None:
    made = lunge("0 s: if mat tripped:", "    0 s: a on", "    900 ms: a off", "otherwise:", "    0 s: b on",
                 "600 ms: c on")
    assert made.codes == ["C002"]
    assert "300 ms later" in made.findings[0].message
    assert "if mat is tripped" in made.findings[0].message


def test_a_wait_in_vain_for_a_sensor_is_a_path_too() -> None:
    made = lunge("0 s: a on", "when mat trips, or after 2 s: b on", "1.5 s: c on")
    assert made.codes == ["C002"]
    assert "in vain for mat" in made.findings[0].message


def test_a_dropped_plus_is_offered_first() -> None:
    finding = lunge("2 s: a on", "800 ms: a off").findings[0]
    assert finding.mends[0].edits == (Edit(finding.span.start, "+"),)
    assert not finding.mends[0].safe


def test_a_line_just_in_time_is_quiet() -> None:
    block = ("1 s: repeat 4 times every 500 ms:", "    0 s: a on", "    100 ms: a off")
    assert lunge(*block, "3 s: b on").codes == []
    assert lunge(*block, "2.999 s: b on").codes == ["C001"]
    assert lunge("0 s: a on", "+1 s to 2 s: b on", "2 s: c on").codes == []


def test_a_period_as_long_as_its_lines_is_quiet() -> None:
    assert lunge("0 s: repeat 4 times every 300 ms:", "    0 s: a on", "    300 ms: a off").codes == []


def test_a_round_that_can_take_no_time_is_found_though_it_often_takes_some() -> None:
    made = lunge("0 s: repeat until mat trips, at most 5 s:", "    when up trips, or after 1 s: a on")
    assert made.codes == ["C006"]
    assert "can take no time" in made.findings[0].message


def test_a_fault_in_a_gesture_shows_both_places() -> None:
    text = scare("0 s: a on").split("scare lunge")[0] + (
        "gesture blink of who:\n    1 s: who on\n    200 ms: who off\n"
        "scare lunge on go trips:\n    1 s: blink of a\n")
    made = planned(text)
    assert made.codes == ["C001"]
    finding = made.findings[0]
    lines = text.split("\n")
    assert "200 ms" in lines[finding.span.line - 1]
    assert "blink of a" in lines[finding.labels[0].span.line - 1]


def test_two_faults_in_one_scare_are_both_told() -> None:
    made = lunge("100 ms: ram lands out", "4 s: a on", "3 s: b on", "5 s: repeat 2 times:", "    0 s: c on")
    assert sorted(made.codes) == ["C001", "C003", "C006"]


def test_a_plan_with_faults_is_whole_all_the_same() -> None:
    made = lunge("100 ms: ram lands out", "3 s: ram retracts", "2 s: a on")
    assert [moment.earliest_us for moment in made.first.moments] == [0, 3_000_000, 3_000_000]
    assert has_errors(made.findings)


def test_only_the_uneven_beat_and_a_landing_that_does_not_settle_are_warnings() -> None:
    assert [rule.code for rule in rules.ALL if rule.severity is not Severity.ERROR] == ["C010", "C018"]


def test_of_many_waits_that_may_be_long_the_first_three_are_told() -> None:
    def told(waits: int) -> str:
        lines = "".join(f"        +1 s to 2 s: glow {'on' if n % 2 else 'off'}\n" for n in range(waits))
        found = findings_of(f"""show "Waits"
board box like avr328
lamp glow: on box pwm0
scare blink every 5 min to 6 min:
    0 s: repeat 3 times every 1 s:
        0 s: glow on
{lines}""")
        return next(finding for finding in found if finding.code == "C005").message

    three, five = told(3), told(5)
    assert three.count("drawn at its longest") == 3 and "and so on" not in three
    assert five.count("drawn at its longest") == 3 and "longest; and so on)" in five and "take 10 s" in five
