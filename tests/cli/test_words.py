"""What a person reads when something was typed wrongly, or a file is not where it was looked for."""

from __future__ import annotations

import json
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from sequencer.cli import main
from sequencer.cli.text import wrap
from sequencer.cli.trouble import Voice, WrongUse, report

Process = Callable[..., subprocess.CompletedProcess[bytes]]
Said = pytest.CaptureFixture[str]

NOTED = """show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
sensor mat like push_button: on box in1
lamp eyes: on box pwm0
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
"""
"""A show whose second sensor starts nothing, of which there is a note."""


def flat(text: str) -> str:
    return " ".join(text.split())


def test_without_a_command_there_is_the_same_help_as_when_asked_for(home: Path, capsys: Said) -> None:
    assert main(["--help"]) == 0
    asked = capsys.readouterr().out
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert (out, err) == (asked, "")
    assert "?" not in out


def test_the_line_ends_of_a_message_stay_and_nothing_else_gets_through(capsys: Said) -> None:
    report(WrongUse("First.\nSecond\x1b[31m."), Voice())
    assert capsys.readouterr().err == "[x] First.\n    Second?[31m.\n"


def test_a_number_keeps_its_unit_where_a_line_is_folded() -> None:
    assert wrap("a level is 0 % to 100 %, no more", 22) == ["a level is 0 % to", "100 %, no more"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("first", "first.show"), ("Frst.show", "first.show"), ("lamp_hut.show", shlex.quote("lamp hut.show"))],
)
@pytest.mark.skipif(sys.platform == "win32", reason="quoted as POSIX shells do")
def test_a_file_that_is_not_there_is_guessed_at(home: Path, typed: str, meant: str, capsys: Said) -> None:
    for name in ("first.show", "lamp hut.show", ".first.show.part"):
        Path(name).write_text(NOTED)
    for command in (["check"], ["dryrun"], ["compile"], ["flash", "--yes"]):
        assert main([*command, typed]) == 2
        assert flat(capsys.readouterr().err).endswith(f"Did you mean {meant}?")


def test_a_file_is_looked_for_in_the_folder_that_was_typed(home: Path, capsys: Said) -> None:
    Path("sub").mkdir()
    Path("sub/yard.show").write_text(NOTED)
    assert main(["check", "sub/yrad.show"]) == 2
    assert f"Did you mean {Path('sub/yard.show')}?" in flat(capsys.readouterr().err)
    assert main(["check", "yrad.show"]) == 2
    assert "Did you mean" not in capsys.readouterr().err


@pytest.mark.parametrize("command", [["new", "sub/x"], ["compile", "yard.show", "-o", "sub/x.steps"]])
def test_a_folder_to_write_into_that_is_not_there_is_named(home: Path, command: list[str], capsys: Said) -> None:
    Path("yard.show").write_text(NOTED)
    assert main(command) == 2
    assert flat(capsys.readouterr().err).endswith("[x] There is no folder sub; make it first.")


@pytest.mark.skipif(sys.platform == "win32", reason="quoted as POSIX shells do")
def test_the_command_that_new_advises_can_be_typed(home: Path, capsys: Said) -> None:
    assert main(["new", "my show"]) == 0
    advised = flat(capsys.readouterr().out).split("`")[1]
    assert main(shlex.split(advised)[1:]) == 0


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["log", "--from", "abc"], "`abc` is no whole number from 0 to 65535"),
        (["dryrun", "x.show", "--seed", "0"], "`0` is no whole number from 1 to 4294967295"),
        (["dryrun", "x.show", "--events", "-1"], "`-1` is no whole number from 0 on"),
        (["bench", "0", "--level", "160%"], "a level is 0 % to 100 %"),
        (["bench", "0", "--level", "60"], "a share such as 60 %"),
    ],
)
def test_a_value_of_the_wrong_kind_is_told_with_what_it_may_be(
    home: Path, typed: list[str], says: str, capsys: Said
) -> None:
    assert main(typed) == 2
    assert says in flat(capsys.readouterr().err)


@pytest.mark.parametrize("typed", [["chekc", "--json"], ["check", "--json"], ["new", "--json", "a", "b"], ["--json"],
                                   ["dryrun", "a.show", "--seed", "x", "--json"], ["arm", "--no-such", "--json"]])
def test_wrong_use_with_json_is_an_object(home: Path, typed: list[str], capsys: Said) -> None:
    assert main(typed) == 2
    assert json.loads(capsys.readouterr().out)["error"]["message"]


def test_after_two_dashes_json_is_the_name_of_a_file(home: Path, capsys: Said) -> None:
    assert main(["check", "--", "--json"]) == 2
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (["dryrun", "yard.show", "--trip", "stpe@1s"], "did you mean step?"),
        (["dryrun", "yard.show", "--trip", "step@9s", "--for", "2s"], "make --for longer"),
        (["flash", "yard.show", "--yes", "--port", "/no/such/port"], "There is no port /no/such/port"),
        (["flash", "yard.show", "--yes", "--port", "virtual://a?board=avr9"], "there is no board 'avr9'"),
        (["flash", "yard.show", "--yes", "--port", "virtual://a?board=avr2560"], "is for avr328"),
        (["arm", "--yes", "--port", "/no/such/port"], "There is no port /no/such/port"),
        (["bench", "eyes", "--port", "/no/such/port"], "There is no port /no/such/port"),
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="device files of POSIX")
def test_a_wrong_option_is_told_alone(home: Path, command: list[str], says: str, capsys: Said) -> None:
    Path("yard.show").write_text(NOTED.replace("2 s: eyes off", "2 s: eyes flashes 9 Hz for 5 s"))
    assert main(command) in (2, 3)
    out, err = capsys.readouterr()
    assert says in flat(err)
    assert err.startswith("[x] ") and err.count("[") == 1
    assert out == ""


@pytest.mark.parametrize("command", [["dryrun", "--trip", "step@1s"], ["compile"], ["flash", "--yes"]])
def test_notes_are_counted_where_a_show_is_used_and_shown_where_it_is_checked(
    home: Path, command: list[str], capsys: Said
) -> None:
    Path("yard.show").write_text(NOTED)
    assert main(["check", "yard.show"]) == 0
    assert "[i] note R" in capsys.readouterr().out
    assert main([*command, "yard.show"]) == 0
    err = capsys.readouterr().err
    assert "[i] 1 note; `sequencer check yard.show` shows it." in err
    assert "[i] note R" not in err


def test_the_shelf_is_searched_for_a_word(home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch) -> None:
    assert main(["shelf", "reed"]) == 0
    assert capsys.readouterr().out.startswith("reed_switch ")
    assert main(["shelf", "TANK"]) == 0
    found = capsys.readouterr().out
    assert "compressor_6_gal" in found and "reed_switch" not in found
    assert main(["shelf", "zeppelin"]) == 2
    for words in ([], ["valve"], ["tank"]):
        monkeypatch.setenv("COLUMNS", "60")
        assert main(["shelf", *words]) == 0
        assert max(map(len, capsys.readouterr().out.splitlines())) <= 60


def test_the_mended_example_of_a_missing_sound_keeps_its_horn(home: Path, capsys: Said) -> None:
    assert main(["explain", "R008"]) == 0
    mended = capsys.readouterr().out.split("Mended:")[1]
    assert "speaker horn" in mended and "horn plays bell" in mended and "With bell.wav:" in mended


def test_a_missing_sound_says_where_it_is_looked_for(home: Path, capsys: Said) -> None:
    Path("yard.show").write_text(NOTED + 'speaker horn: on box out0\n    clip bell "bell.wav"\n')
    main(["check", "yard.show"])
    assert "bell.wav, is missing from the folder of the show, where it is looked for;" in flat(capsys.readouterr().out)
