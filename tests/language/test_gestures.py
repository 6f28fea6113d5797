"""Gestures: where the fault of a use is told, what is found in one that nothing uses, how much they may write."""

from __future__ import annotations

import time

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.findings import Finding
from sequencer.language.resolve import read_show

RIG = '''show "Marrow Lane"
board box like avr2560
sensor step like beam: on box in1
sensor mushroom like stop_mushroom: on box in0
lamp eyes: on box pwm0
lamp nose: on box out3
valve kick like valve_5_2_eighth: on box out4
cylinder bar like cylinder_round_3_4_in: on kick, stroke 2 in, measured out 0.12 s, back 0.14 s at 70 psi
speaker horn: on box out9
    clip bell "bell.wav"
stop on mushroom trips: bar retracts
'''
RATTLE = '''gesture rattle of who with n and gap:
    0 s: repeat n times every gap:
        0 s: who extends
        160 ms: who retracts
'''
SCARE = '''scare pound on step trips:
    1 s: eyes on
    2 s: eyes off
'''


def found(*lines: str) -> tuple[Finding, ...]:
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    text = RIG + "".join(lines)
    checked = check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_500_000, 1_500_000))
    return tuple(one for one in checked.findings if one.severity.value == "error")


def line_of(text: str, *lines: str) -> int:
    return 1 + (RIG + "".join(lines)).split("\n").index(text)


@pytest.mark.parametrize(
    ("use", "code", "guilty"),
    [
        ("rattle of bar with 4 and 3 psi", "N009", "3 psi"),
        ("rattle of bar with 4 and 300", "N008", "300"),
        ("rattle of bar with 0 and 400 ms", "N010", "0"),
        ("rattle of bar with 3/2 and 400 ms", "N007", "3/2"),
        ("rattle of bra with 4 and 400 ms", "N001", "bra"),
        ("rattle of eyes with 4 and 400 ms", "N006", "eyes"),
        ("rattle of bar with 4", "N017", "rattle of bar with 4"),
    ],
)
def test_what_a_use_gives_wrongly_is_told_at_the_use(use: str, code: str, guilty: str) -> None:
    scare = ("scare pound on step trips:\n", f"    1 s: {use}\n")
    findings = found(RATTLE, *scare)
    written = f"    1 s: {use}"
    for finding in findings:
        assert finding.code == code
        assert finding.span.line == line_of(written, RATTLE, *scare)
        assert written[finding.span.column - 1 : finding.span.end_column - 1] == guilty
        if code != "N017":
            assert any(label.text.endswith("stands here") for label in finding.labels)
        for mend in finding.mends:
            for edit in mend.edits:
                assert edit.span.line == finding.span.line
    assert findings


def test_a_fault_of_the_gesture_itself_is_told_there_and_shows_the_use() -> None:
    gesture = "gesture wink of who:\n    0 s: who onn\n    1 s: who off\n"
    scare = "scare pound on step trips:\n    1 s: wink of eyes\n"
    (finding,) = found(gesture, scare)
    assert finding.span.line == line_of("    0 s: who onn", gesture, scare)
    assert [label.text for label in finding.labels] == ["`wink` is used here"]


def test_a_later_check_shows_the_use_too() -> None:
    gesture = "gesture wink of who:\n    0 s: who to 40 % over 1 s\n    2 s: who off\n"
    scare = "scare pound on step trips:\n    1 s: wink of nose\n"
    (finding,) = found(gesture, scare)
    assert finding.code == "R007"
    assert any(label.span.line == line_of("    1 s: wink of nose", gesture, scare) for label in finding.labels)


def test_what_goes_through_two_gestures_is_told_where_it_was_said_first() -> None:
    outer = "gesture twice of it:\n    0 s: rattle of it with 2 and 400 ms\n    2 s: rattle of it with 2 and 400 ms\n"
    scare = "scare pound on step trips:\n    1 s: twice of eyes\n"
    assert {finding.span.line for finding in found(RATTLE, outer, scare)} == {
        line_of("    1 s: twice of eyes", RATTLE, outer, scare)
    }


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("0 s: whoo on", "N001"),
        ("0 s: eyez on", "N001"),
        ("2 psi: who on", "N009"),
        ("0 s: who flubs", "N006"),
        ("0 s: who extends", "N017"),
        ("0 s: horn plays bel", "N001"),
        ("0 s: repeat n times every n:\n        0 s: who on", "N017"),
        ("0 s: who to n, who flashes n for 1 s", "N017"),
    ],
)
def test_the_lines_of_a_gesture_that_nothing_uses_are_checked(line: str, code: str) -> None:
    gesture = f"gesture spare of who with n:\n    {line}\n    5 s: who on\n    6 s: who off\n"
    findings = found(gesture, SCARE)
    assert {finding.code for finding in findings} == {code}, findings


@pytest.mark.parametrize(
    "lines",
    [
        "gesture spare of who with n and gap:\n    0 s: repeat n times every gap:\n        0 s: who on\n",
        "gesture spare of who with level and hz:\n    0 s: who to level over 1 s\n    then: who flashes hz for 2 s\n",
        "gesture spare of who:\n    0 s: who plays bell\n    then: who falls silent\n",
        "gesture spare of s:\n    when s trips, or after 2 s: eyes on\n    then: if s clear:\n        0 s: eyes off\n",
        "gesture spare of one and other:\n    0 s: one extends, other runs for 2 s\n    then: one retracts\n",
        "gesture spare of it:\n    0 s: it starts\n    1 s: it stops\n",
        "prop window:\n    lamp candle: on box pwm1\ngesture spare of who:\n    0 s: candle on, who off\n",
        "gesture inner of who:\n    0 s: who lands out\ngesture outer of who:\n    2 s: inner of who\n",
    ],
)
def test_a_gesture_that_could_be_used_is_left_alone(lines: str) -> None:
    assert found(lines, SCARE) == ()


def test_names_of_a_gesture_differ_and_it_has_lines() -> None:
    (twice,) = found("gesture wink of who with who:\n    0 s: eyes on\n    1 s: eyes off\n", SCARE)
    assert twice.code == "N002"
    (empty,) = found("gesture wink of who:\n", SCARE)
    assert empty.code == "L013"


def test_gestures_in_gestures_multiply_only_so_far() -> None:
    lines = ["gesture g0 of who:\n", *(f"    {i} s: who on\n" for i in range(30))]
    for depth in range(1, 6):
        lines += [f"gesture g{depth} of who:\n", *[f"    +1 min: g{depth - 1} of who\n"] * 30]
    begun = time.process_time()
    findings = found(*lines, "scare pound on step trips:\n    0 s: g5 of eyes\n")
    assert [finding.code for finding in findings] == ["N017"]
    assert "4,000 lines" in findings[0].message
    assert time.process_time() - begun < 10


def test_a_line_that_would_not_read_whatever_were_given_is_told_in_the_gesture() -> None:
    text = """show "Marrow Lane"
board box like avr328
lamp a: on box pwm0
lamp b: on box pwm1
sensor step like mat: on box in1
gesture both of one and other:
    0 s: one on, other on
    1 s: one off other off
scare s on step trips:
    0 s: both of a and b
"""
    (finding,) = read_show(text.encode(), "a.show", lambda name: b"").findings
    assert finding.span.line == 8 and [label.span.line for label in finding.labels] == [10]
    assert finding.message == "Nothing comes after `off`, but here stands `other`."
