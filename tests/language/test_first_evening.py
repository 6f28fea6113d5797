"""Slips of a first evening: each line is told in a sentence that says how to mend it, and the first mend is right."""

from __future__ import annotations

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.findings import Finding, Severity

BEFORE = '''show "Marrow Lane"
board box like avr2560
sensor pir like passive_infrared: on box in1
let beat = 400 ms
lamp eyes: on box pwm0
fogger mist: on box out5
valve puff like valve_2_2_quarter: on box out1
speaker horn: on box out2
    clip bell "bell.wav"
scare peep on pir trips:
    rest 5 s
    0 s: eyes on
'''
AFTER = "    then +9 s: eyes off\n"


def told(line: str) -> tuple[str, list[Finding]]:
    """The line, and the errors on it."""
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    text = f"{BEFORE}    {line}\n{AFTER}"
    checked = check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_000_000, 1_000_000))
    at = BEFORE.count("\n") + 1
    found = [one for one in checked.findings if one.severity.value == "error"]
    assert all(one.span.line == at for one in found), found
    return f"    {line}", found


def mended(line: str, finding: Finding) -> str:
    for edit in sorted(finding.mends[0].edits, key=lambda edit: edit.span, reverse=True):
        line = line[: edit.span.column - 1] + edit.text + line[edit.span.end_column - 1 :]
    return line.strip()


@pytest.mark.parametrize(
    ("line", "says", "mend"),
    [
        ("2: eyes on", "`2` needs its unit: a time such as `2 s`.", "2 s: eyes on"),
        ("+500: eyes off", "`500` needs its unit: a time such as `500 ms`.", "+500 ms: eyes off"),
        ("then +1: eyes off", "`1` needs its unit", "then +1 s: eyes off"),
        ("when pir trips, or after 4: eyes off", "`4` needs its unit", "when pir trips, or after 4 s: eyes off"),
        ("+300 ms to 900: eyes off", "`900` needs its unit", "+300 ms to 900 ms: eyes off"),
        ("+beet: eyes off", "No `let` names a quantity `beet`", "+beat: eyes off"),
        ("1 s: eyes to beat", "`beat` names a time, 400 ms; here comes a share", ""),
        ("1 s: mist on", "It can: `runs`, `stops`, `runs for`.", "1 s: mist runs"),
        ("1 s: mist off", "A fogger has no action `off`.", "1 s: mist stops"),
        ("1 s: puff off", "A valve has no action `off`.", "1 s: puff closes"),
        ("1 s: horn stop", "A speaker has no action `stop`.", "1 s: horn falls silent"),
        ("1 s: eyes fade to 80 % over 2 s", "After `eyes` comes what it does", "1 s: eyes to 80 % over 2 s"),
        ("wait 2 s", "a pause is the time of the next line, such as `+2 s: eyes on`.", ""),
        ("1 s: 2 s", "An action starts with the name of a part, not `2 s`.", ""),
        ("1 s: eyes off; mist stops", "not `;`", "1 s: eyes off, mist stops"),
        ("1 s eyes off", "After `1 s` comes `:`", "1 s: eyes off"),
        ("at 4 s: eyes off", "After `at` comes `:`", "4 s: eyes off"),
        ("after 4 s: eyes off", "After `after` comes `:`", "+4 s: eyes off"),
        ("1 min 30 s: eyes off", "A time is one number with one unit; `1 min 30 s` is `90 s`.", "90 s: eyes off"),
        ("+1 s 500 ms: eyes off", "`1 s 500 ms` is `1.5 s`.", "+1.5 s: eyes off"),
        ("1:30 min: eyes off", "`1:30 min` is `90 s`.", "90 s: eyes off"),
        ("1min30s: eyes off", "There is no unit `min30s`; `1 min30s` is `90 s`.", "90 s: eyes off"),
        ("+2 klicks: eyes off", "There is no unit `klicks`; here comes a time", ""),
        ("1 s: eyes of", "Nothing comes after `of`.", "1 s: eyes off"),
        ("1 s: every 3 run:", "After `1 s: every` comes a count such as `3rd`", "1 s: every 3rd run:"),
        ("when pir trips: eyes off", "such as `when ram_home trips, or after 2 s:`.", ""),
        ("1 s: repeat until pir clears:", "such as `repeat until mat clears, at most 10 s:`.", ""),
        ("1 s: repeat while pir tripped:", "`repeat until mat clears, at most 10 s:`.", ""),
        ("1 s: repeat forever:", "A repeat has an end", ""),
        ("rest 2 s", "a pause between cues is the time of the next line, such as `+2 s:`.", ""),
        ("1 s: eyes flickers 80 % to 20 % for 3 s", "80 % is not below 20 %.", ""),
        ("1 s: eyes to 20 % over 0 ms", "0 ms is outside 1 ms to 1 h.", ""),
        ("1 s: eyes to 20 % over 2 h", "2 h is outside 1 ms to 1 h.", ""),
        ("rank 3", "stands above its first cue", ""),
        ("+1 baet: eyes off", "There is no unit `baet`", "+1 beat: eyes off"),
        ("1 s: eyes to 60 % in 800 ms", "comes `over`, not `in`", "1 s: eyes to 60 % over 800 ms"),
        ("1 s: eyes to 60 % and mist runs", "comes `over`, not `and`", "1 s: eyes to 60 %, mist runs"),
        ('1 s: horn plays "bell.wav"', "After `plays` comes the name of a clip", "1 s: horn plays bell"),
        ("1 s: bell plays", "`bell` is a clip of `horn`; a cue asks the speaker: `horn plays bell`.", ""),
    ],
)
def test_a_slip_is_told_once_and_mended(line: str, says: str, mend: str) -> None:
    written, found = told(line)
    assert len(found) == 1, found
    assert says in found[0].message
    assert (mended(written, found[0]) if found[0].mends else "") == mend


RIG = """show "Marrow Lane"
board box like avr2560
sensor mat like mat: on box in1
valve shove like valve_5_2_quarter: on box out1
cylinder ram like cylinder_round_2_in: on shove, stroke 12 in, measured out 0.8 s, back 0.9 s
sensor other like beam: on box in2
"""


@pytest.mark.parametrize(
    ("line", "says", "mend"),
    [
        ("cylinder c like ram: on shove, moves 250 g", "There is no unit `g`; `250 g` is `0.25 kg`.",
         "cylinder c like ram: on shove, moves 0.25 kg"),
        ("lamp a: on box pwm3, draws 3 kW", "`3 kW` is `3000 W`.", "lamp a: on box pwm3, draws 3000 W"),
        ("lamp a: on box pwm3, colour pink", "not `pink`.", ""),
        ("lamp a: on box pwm3, on for at most 20 h", "20 h is outside 1 ms to 12 h.", ""),
        ("valve v like shove: on box out8, responds in 2 h", "2 h is outside 0.5 ms to 500 ms.", ""),
        ("sensor s: on box in5, high", "After `high` comes `when tripped`.", "sensor s: on box in5, high when tripped"),
        ("lamp a: on out3", "A pin stands behind its board: `box out3`", "lamp a: on box out3"),
        ("lamp a: on out3 box", "The board stands before its pin", "lamp a: on box out3"),
        ("lamp a: on bxo out3", "There is no board called `bxo`.", "lamp a: on box out3"),
        ("lamp a: on pin out3", "There is no board called `pin`.", "lamp a: on box out3"),
        ("sensor s: on box in5 low when tripped", "here stands `low`", "sensor s: on box in5, low when tripped"),
        ("idle murmur on mat trips:", "An idle runs by itself", "scare murmur on mat trips:"),
        ('prop hatch: "The hatch"', "A label stands behind the name and before the colon", 'prop hatch "The hatch":'),
        ("speaker m: on box out3, clip bell bell.wav", "comes a text in \"quotes\"",
         'speaker m: on box out3, clip bell "bell.wav"'),
        ("cylinder c like cylinder_1_1_16: on shove", "There is no cylinder `cylinder_1_1_16` on the shelf",
         "cylinder c like cylinder_round_1_1_16_in: on shove"),
        ("never: fewer than 2 between ram extends and ram retracts", "`2` needs its unit: a time such as `2 s`.",
         "never: fewer than 2 s between ram extends and ram retracts"),
        ("scare tick every 90 s:", "a shortest and a longest wait", "scare tick every 90 s to 90 s:"),
        ("night: opens 6 pm, closes 10:30 pm, groups 40 per hour, of 2 to 5, passes mat",
         "After `opens` comes a time of day",
         "night: opens 6:00 pm, closes 10:30 pm, groups 40 per hour, of 2 to 5, passes mat"),
        ("stop: ram home", "A cylinder has no action `home`. It can: `extends`, `retracts`.", "stop: ram retracts"),
        ("stop: ram lands home", "The safe state holds every output at a level", "stop: ram retracts"),
        ('valve v like shove: on box out8, responds in 20"', "Inches are written `in`",
         "valve v like shove: on box out8, responds in 20 in"),
    ],
)
def test_a_slip_in_the_rig_is_told_once_and_mended(line: str, says: str, mend: str) -> None:
    text = f"{RIG}{line}\n"
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    found = [one for one in checked.findings if one.severity.value == "error"]
    assert says in found[0].message
    assert (mended(line, found[0]) if found[0].mends else "") == mend


@pytest.mark.parametrize(("words", "shown", "writes"), [
    ("74.7 psia", "`74.7 psi` absolute is `60 psi` at sea level", "60 psi"),
    ("5 bara", "`5 bar` absolute is `3.99 bar` at sea level", "3.99 bar"),
    ("515 kPa absolute", "`515 kPa` absolute is `414 kPa` at sea level", "414 kPa"),
    ("60 psi abs", "`60 psi` absolute is `45.3 psi` at sea level", "45.3 psi"),
    ("14 psia", "`14 psi` absolute is no more than the air outside", ""),
])
def test_an_absolute_pressure_is_never_taken_for_a_gauges(words: str, shown: str, writes: str) -> None:
    """60 psi on a gauge is 74.7 psi above nothing (14.696 psi of air, CGPM 1954): no mend is safe, none keeps the
    number."""
    text = f"{RIG}compressor shed like compressor_20_gal:\nmanifold bench on shed: ports 4, regulator {words}\n"
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    one, = (one for one in checked.findings if one.code == "N008")
    assert one.message.startswith("Pressures are as a gauge shows them") and shown in one.message
    assert [mend.safe for mend in one.mends] == ([False] if writes else [])
    assert [mend.title for mend in one.mends] == ([f"write `{writes}`"] if writes else [])


def test_a_gauge_pressure_by_its_other_name_is_plain() -> None:
    text = f"{RIG}compressor shed like compressor_20_gal:\nmanifold bench on shed: ports 4, regulator 60 psig\n"
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    one, = (one for one in checked.findings if one.code == "N008")
    assert [(mend.title, mend.safe) for mend in one.mends] == [("write `psi`", True)]


def test_a_load_in_grams_is_never_taken_for_kilograms_unasked() -> None:
    for word in ("g", "us", "nn"):
        text = f"{RIG}cylinder c like ram: on shove, moves 250 {word}, dead volume 1 {word}\n"
        checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
        assert not any(mend.safe for finding in checked.findings for mend in finding.mends)


def test_a_line_with_inch_marks_hides_neither_its_block_nor_the_next() -> None:
    text = f'{RIG}cylinder c like ram: on shove, bore 1.5", stroke 12"\n    moves 9 oz, lifts 120 deg\n'
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    assert [one.code for one in checked.findings if one.span.line > RIG.count("\n")] == ["L014", "L014", "N008", "N010"]


def test_a_name_alone_before_its_colon_is_not_taken_for_a_word_of_the_language_unasked() -> None:
    text = RIG.replace("sensor other like", "step: like") + "    on box in2, low when tripped\n"
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    assert not any(mend.safe for finding in checked.findings for mend in finding.mends)


def test_a_valve_whose_cylinder_is_not_whole_is_not_said_to_blow() -> None:
    text = RIG.replace(", measured out 0.8 s, back 0.9 s", "") + "compressor shed like compressor_20_gal\nprop p:\n"
    text += "    air from shed, regulator 60 psi\n    reach fenced\n    valve v like shove: on box out2\n"
    for more, there in (("", True), ("cylinder c like ram: on v", False), ("cylinder c like ram: on v, hollow", False)):
        made = f"{text}    {more}\n".encode()
        checked = check_bytes(made, "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
        assert ("A006" in {finding.code for finding in checked.findings}) == there, more


def test_weights_are_added_up_in_a_scare_with_another_slip() -> None:
    text = BEFORE + "    1 s: eyes onn\n    2 s: pick one:\n        1 of 3: eyes on\n        1 of 3: eyes off\n" + AFTER
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    assert {"N006", "N018"} <= {finding.code for finding in checked.findings}


def test_a_block_without_its_time_gets_one() -> None:
    written, found = told("repeat 3 times every 1 s:\n        0 s: eyes on")
    assert mended(written.split("\n")[0], found[0]) == "then: repeat 3 times every 1 s:"


def test_the_other_lines_of_a_part_that_is_not_whole_are_read() -> None:
    text = BEFORE.replace("lamp eyes: on box pwm0", "lamp eyes: draws 3 W") + "    2 s: eyes onn\n"
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    assert {"N011", "N006"} <= {finding.code for finding in checked.findings}


def test_a_part_whose_colon_is_missing_counts_as_declared() -> None:
    prop = "prop window:\n    lamp candle on box pwm1\n"
    scare = "scare s on pir trips:\n    0 s: window.candle on\n    1 s: window.candle off\n"
    text = BEFORE + AFTER + prop + scare
    checked = check_bytes(text.encode(), "it.show", lambda name: b"", lambda name: ClipFile(name, 1, 1))
    assert [one.code for one in checked.findings if one.severity.value == "error"] == ["L011"]


def test_a_text_alone_below_a_part_is_a_finding_and_no_label() -> None:
    found = check_bytes(b'show "a"\nboard box like avr328\nlamp eyes:\n    "Eyes"\n    on box pwm1\n', "a.show",
                        lambda *_: b"", lambda *_: ClipFile("a")).findings
    assert any(finding.span.line == 4 and finding.severity is Severity.ERROR for finding in found)
