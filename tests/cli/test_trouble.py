from __future__ import annotations

import errno
import json
import os
from pathlib import Path
from typing import NoReturn

import click
import pytest
from click.testing import CliRunner

from sequencer.board.errors import PortBusy
from sequencer.cli import main
from sequencer.cli.group import SECTIONS, commands
from sequencer.cli.trouble import Voice, WrongUse, report, words


def raises(fault: BaseException) -> click.Command:
    @click.command()
    def command() -> NoReturn:
        raise fault

    return command


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (WrongUse("Not so."), 2),
        (FileNotFoundError(errno.ENOENT, "x", "yard.show"), 2),
        (PermissionError(errno.EACCES, "x", "yard.show"), 2),
        (IsADirectoryError("yard is not a file"), 2),
        (OSError(errno.EIO, "Input/output error"), 2),
        (PortBusy("COM3"), 3),
        (ZeroDivisionError("division by zero"), 70),
        (RecursionError("too deep"), 70),
        (AssertionError(), 70),
        (KeyboardInterrupt(), 130),
    ],
)
def test_every_fault_has_its_exit_code_and_no_traceback(
    fault: BaseException, code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(commands, "get_command", lambda *_: raises(fault))
    monkeypatch.delenv("SEQUENCER_DEBUG", raising=False)
    result = CliRunner().invoke(commands, ["check"])
    assert result.exit_code == code
    assert "Traceback" not in result.output
    assert result.stdout == ""
    sentences = result.stderr.strip()
    assert sentences.startswith("[x] ") == (code != 130)


def test_file_faults_are_worded_with_the_file() -> None:
    assert (
        words(FileNotFoundError(errno.ENOENT, "x", "yard.show"))[0] == "There is no file or folder yard.show."
    )
    assert "folder" in words(IsADirectoryError(errno.EISDIR, "x", "yard"))[0]
    assert "permissions" in words(PermissionError(errno.EACCES, "x", b"yard"))[0]
    assert words(IsADirectoryError("yard is not a file"))[0] == "Yard is not a file."


def test_a_fault_of_ours_says_so_and_how_to_report_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SEQUENCER_DEBUG", "1")
    assert report(KeyError("ram"), Voice()) == 70
    said = capsys.readouterr().err
    assert "not of your show" in said
    assert "report" in said
    assert "KeyError: 'ram'" in said.splitlines()[-1]


def test_with_json_the_fault_is_an_object(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--json", "nowhere.show"]) == 2
    out, err = capsys.readouterr()
    assert json.loads(out)["error"] == {
        "kind": "FileNotFoundError",
        "message": "There is no file or folder nowhere.show.",
    }
    assert "nowhere.show" in err


def test_a_mistyped_command_is_told_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chekc"]) == 2
    assert "Did you mean `check`?" in capsys.readouterr().err


def test_wrong_options_are_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--no-such-thing", "a.show"]) == 2
    assert main(["check"]) == 2
    assert main(["trip", "step", "--for", "200"]) == 2
    assert "unit" in capsys.readouterr().err


def test_help_and_version_are_fine(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    said = capsys.readouterr().out
    assert all(name in said for names in SECTIONS.values() for name in names)
    assert main(["--version"]) == 0
    for name in (name for names in SECTIONS.values() for name in names):
        assert main([name, "--help"]) == 0, name


def test_every_command_says_what_it_does_in_one_line() -> None:
    context = click.Context(commands)
    for name in commands.list_commands(context):
        command = commands.get_command(context, name)
        assert command is not None
        assert command.get_short_help_str(90).endswith("."), name
        assert not command.get_short_help_str(90).endswith("..."), name


def test_a_name_cannot_lead_out_of_the_commands() -> None:
    context = click.Context(commands)
    assert commands.get_command(context, "trouble") is None
    assert commands.get_command(context, "../check") is None


def test_each_module_of_the_list_is_there() -> None:
    folder = Path(main.__code__.co_filename).parent
    names = {name.replace("-", "_") for group in SECTIONS.values() for name in group}
    assert {name for name in names if not os.path.isfile(folder / f"{name}.py")} == set()
