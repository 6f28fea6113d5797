"""Every rule of the project: its failing example gives it, its mended example does not and has no error."""

from __future__ import annotations

import re

import pytest

from sequencer.checks import Checked, catalogue, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.findings import Rule, Severity

ROOMS = {
    "L": "the text", "N": "names", "C": "times", "R": "the rig", "T": "cues", "B": "the board", "A": "the air",
}
SOUND = re.compile(r"a sound of (\d+) s(?:, whose header says (\d+) s)?")
"""How the companion of an example says what sound file it is about."""
SAID_BETTER = {"C015": "B003"}
"""The compiler's own word that a program does not fit gives way to the check that says why and where."""


def checked(show: str, rule: Rule) -> Checked:
    def read_file(name: str) -> bytes:
        if name not in rule.companions:
            raise FileNotFoundError(f"there is no file {name}")
        return rule.companions[name].encode()

    def sound_length(name: str) -> ClipFile:
        said = SOUND.fullmatch(rule.companions.get(name, ""))
        if said is None:
            return ClipFile(name, trouble="is missing")
        return ClipFile(name, int(said[1]) * 1_000_000, int(said[2] or said[1]) * 1_000_000)

    return check_bytes(show.encode(), "example.show", read_file, sound_length)


def rules() -> list[Rule]:
    return list(catalogue().values())


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.code)
def test_the_failing_example_gives_the_code(rule: Rule) -> None:
    found = [finding.code for finding in checked(rule.failing, rule).findings]
    assert SAID_BETTER.get(rule.code, rule.code) in found


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.code)
def test_the_mended_example_has_neither_the_code_nor_any_error(rule: Rule) -> None:
    findings = checked(rule.mended, rule).findings
    bad = [f for f in findings if f.code == rule.code or f.severity is Severity.ERROR]
    assert bad == []


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.code)
def test_an_entry_says_what_a_builder_needs(rule: Rule) -> None:
    assert re.fullmatch(r"[LNCRTBA]\d{3}", rule.code)
    assert rule.code[0] in ROOMS
    assert rule.title and not rule.title.endswith(".") and rule.title == rule.title.strip()
    assert rule.why.endswith(".") and len(rule.why) > 40
    assert rule.source and rule.failing and rule.mended


def test_the_codes_of_the_catalogue_are_told_apart() -> None:
    from sequencer.checks.pipeline import checks
    from sequencer.language import name_rules
    from sequencer.language import rules as text_rules
    from sequencer.schedule import rules as time_rules

    listed = [*text_rules.ALL, *name_rules.ALL, *time_rules.ALL, *(check.RULE for check in checks())]
    codes = [rule.code for rule in listed]
    assert len(codes) == len(set(codes)) == len(catalogue())
