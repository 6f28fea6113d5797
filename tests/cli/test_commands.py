from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from sequencer.cli import main
from sequencer.steps import decode

ROOT = Path(__file__).parents[2]

Process = Callable[..., subprocess.CompletedProcess[bytes]]

GOOD = """show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
lamp eyes: on box pwm0
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
"""
BROKEN = GOOD.replace("2 s:", "2 s")


@pytest.fixture
def show(home: Path) -> Path:
    path = Path("yard.show")
    path.write_bytes(GOOD.encode())
    return path


def value_of(capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    value: dict[str, object] = json.loads(capsys.readouterr().out)
    return value


def test_compile_writes_the_bytes_beside_the_show(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compile", "yard.show"]) == 0
    image = Path("yard.steps").read_bytes()
    assert len(decode(image).routines) == 1
    said = capsys.readouterr().err
    assert f"{len(image)} of 480 bytes for avr328 in yard.steps" in said


def test_a_listing_writes_no_file_and_names_the_lines(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compile", "--listing", "yard.show"]) == 0
    assert not Path("yard.steps").exists()
    out = capsys.readouterr().out
    assert "eyes on" in out
    assert "line 6" in out


def test_compile_to_standard_output_gives_the_bytes_alone(show: Path, process: Process) -> None:
    main(["compile", "-o", "a.steps", "yard.show"])
    assert process("compile", "-o", "-", "yard.show").stdout == Path("a.steps").read_bytes()
    assert main(["compile", "-o", "-", "--listing", "yard.show"]) == 2


def test_a_show_with_errors_gives_no_bytes(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    show.write_text(BROKEN)
    Path("yard.steps").write_bytes(b"the old one")
    assert main(["compile", "yard.show"]) == 1
    assert Path("yard.steps").read_bytes() == b"the old one"
    out, err = capsys.readouterr()
    assert out == ""
    assert "yard.show:7" in err
    assert main(["flash", "yard.show", "--yes"]) == 1
    assert main(["compile", "--json", "yard.show"]) == 1
    capsys.readouterr()


def test_compile_with_json_tells_program_and_findings(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compile", "--json", "yard.show"]) == 0
    program = value_of(capsys)["program"]
    assert program["file"] == "yard.steps"  # type: ignore[index]
    assert program["inputs"] == ["step"]  # type: ignore[index]
    assert len(program["takes_ms"]) == len(program["routines"])  # type: ignore[index,arg-type]
    assert "listing" not in program  # type: ignore[operator]
    assert main(["compile", "--json", "--listing", "yard.show"]) == 0
    assert any(" takes " in line for line in value_of(capsys)["program"]["listing"])  # type: ignore[index]
    show.write_text(BROKEN)
    assert main(["compile", "--json", "yard.show"]) == 1
    value = value_of(capsys)
    assert value["program"] is None
    assert value["findings"]


def test_disassembly_names_what_the_show_names(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["compile", "yard.show"])
    capsys.readouterr()
    assert main(["disassemble", "yard.steps"]) == 0
    assert "output 0" in capsys.readouterr().out
    assert main(["disassemble", "yard.steps", "--show", "yard.show"]) == 0
    assert "eyes on" in capsys.readouterr().out
    show.write_text(GOOD.replace("2 s:", "3 s:"))
    assert main(["disassemble", "yard.steps", "--show", "yard.show"]) == 2


def test_a_flashed_show_is_spoken_to_by_its_names(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["flash", "yard.show", "--yes"]) == 0
    assert main(["arm", "--yes"]) == 0
    assert main(["trip", "step"]) == 0
    # A request counts in the board's next tick; a log read within the same millisecond does not have it yet.
    time.sleep(0.02)
    assert main(["log"]) == 0
    assert "glow started: step" in capsys.readouterr().out
    assert main(["trip", "step", "--show", "yard.show"]) == 0
    show.write_text(GOOD.replace("2 s:", "3 s:"))
    assert main(["trip", "step", "--show", "yard.show"]) == 2


def test_format_puts_into_style_and_check_only_looks(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    show.write_bytes(
        b"\xef\xbb\xbf" + GOOD.replace("    0 s: eyes", "    0 s:    eyes").replace("\n", "\r\n").encode()
    )
    before = show.read_bytes()
    assert main(["format", "--check", "yard.show"]) == 1
    assert main(["format", "--diff", "yard.show"]) == 1
    assert show.read_bytes() == before
    assert main(["format", "yard.show"]) == 0
    after = show.read_bytes()
    assert after != before
    assert after.startswith(b"\xef\xbb\xbf")
    assert after.count(b"\r\n") == after.count(b"\n")
    assert main(["format", "--check", "yard.show"]) == 0


def test_format_leaves_what_it_cannot_read(show: Path, capsys: pytest.CaptureFixture[str]) -> None:
    show.write_text(BROKEN)
    assert main(["format", "yard.show"]) == 1
    assert show.read_text() == BROKEN
    assert "left as it is" in capsys.readouterr().out
    show.write_bytes(b"\xff\xfe")
    assert main(["format", "yard.show"]) == 2


def test_format_works_as_a_filter(show: Path, process: Process) -> None:
    main(["format", "yard.show"])
    done = process("format", "-", stdin=None, input=GOOD.encode())
    assert done.stdout == show.read_bytes()
    broken = process("format", "-", stdin=None, input=BROKEN.encode())
    assert (broken.stdout, broken.returncode) == (BROKEN.encode(), 1)


def test_explain_tells_why_with_both_examples(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from sequencer.checks import catalogue

    rules = catalogue()
    assert main(["explain", "l011"]) == 0
    out = capsys.readouterr().out
    assert "Fails (>" in out and "Mended:" in out
    assert main(["explain", "all"]) == 0
    listed = [line.split()[0] for line in capsys.readouterr().out.splitlines()]
    assert listed == sorted(rules)
    assert main(["explain", "all", "--json"]) == 0
    assert {rule["code"] for rule in value_of(capsys)["rules"]} == set(rules)  # type: ignore[attr-defined]
    assert main(["explain", "L0111"]) == 2
    assert "L011" in capsys.readouterr().err


def test_every_rule_can_be_explained(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from sequencer.checks import catalogue

    for code in catalogue():
        assert main(["explain", code]) == 0
        assert all(character.isprintable() or character in "\n\t" for character in capsys.readouterr().out)


def test_a_new_show_is_without_errors_and_never_overwrites(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "coal_bunker"]) == 0
    path = Path("coal_bunker.show")
    assert path.read_text(encoding="utf-8").startswith('show "coal bunker"\n')
    assert main(["check", "coal_bunker.show"]) == 0
    assert main(["new", "coal_bunker.show"]) == 2
    assert main(["new", 'a"b']) == 2
    assert main(["new", "nowhere/a"]) == 2


def test_the_demo_runs_from_text_to_log(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    out = capsys.readouterr().out
    for part in ("no errors", "bytes loaded, read back and confirmed", "started: step", "sequencer new"):
        assert part in out
    assert not any(home.iterdir())


def test_the_demo_is_read_in_a_minute_and_names_commands_that_exist(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(ROOT)
    assert main(["demo"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= 60 and max(map(len, lines)) <= 80
    typed = [line for line in lines if line.startswith("sequencer ")]
    assert {line.split()[1].strip(",") for line in typed} == {"check", "compile", "dryrun", "flash"}
    assert main(typed[0].split()[1:]) == 0
