from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from sequencer.cli import main
from sequencer.cli.mend import mend_show, safe_mends
from sequencer.cli.shows import MOST_SHOWN
from sequencer.findings import Edit, Finding, Mend, Severity, Span

Process = Callable[..., subprocess.CompletedProcess[bytes]]

GOOD = """show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
lamp eyes: on box pwm0
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
"""
CURLY = GOOD.replace('"', "\u201c", 1)
UNSURE = GOOD.replace("eyes off", "eyes of")

posix = pytest.mark.skipif(sys.platform == "win32", reason="pipes, terminals and devices of POSIX")


def write(name: str, text: str, bom: bool = False) -> Path:
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode("utf-8-sig" if bom else "utf-8"))
    return path


def findings_of(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(capsys.readouterr().out)["findings"]
    return found


def test_a_good_show_is_fine(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write("yard.show", GOOD)
    assert main(["check", "yard.show"]) == 0
    assert "error" not in capsys.readouterr().out


def test_an_error_is_shown_where_it_stands(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write("yard.show", GOOD.replace("2 s:", "2 s"))
    assert main(["check", "yard.show"]) == 1
    out = capsys.readouterr().out
    assert "at yard.show:7:" in out
    assert "    2 s eyes off" in out


def test_what_cannot_be_read_is_no_finding(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "nowhere.show"]) == 2
    assert main(["check", "."]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_file_that_is_no_text_is_a_finding(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("a.show").write_bytes(b"\x00\xff" * 50)
    assert main(["check", "a.show"]) == 1
    assert main(["check", "--mend", "a.show"]) == 1
    assert Path("a.show").read_bytes() == b"\x00\xff" * 50


def test_a_used_file_goes_by_a_path_that_can_be_opened(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write("deep/yard.show", 'use "rig/a.show"\n' + GOOD)
    write("deep/rig/a.show", "lamp spare on box pwm1\n")
    assert main(["check", "deep/yard.show", "--json"]) == 1
    files = {str(finding["file"]) for finding in findings_of(capsys)}
    assert Path("deep/rig/a.show") in map(Path, files)
    assert all(Path(file).exists() for file in files)


def test_mend_makes_what_is_safe_and_keeps_the_rest(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write("yard.show", CURLY.replace("\n", "\r\n"), bom=True)
    path.chmod(0o600)
    assert main(["check", "--mend", "yard.show"]) == 0
    assert path.read_bytes() == GOOD.replace("\n", "\r\n").encode("utf-8-sig")
    assert path.stat().st_mode & 0o077 == 0
    out = capsys.readouterr().out
    assert "1 mend made in yard.show" in out
    assert '+show "Marrow Lane"' in out


def test_mend_dry_shows_it_and_writes_nothing(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write("yard.show", CURLY)
    assert main(["check", "--mend", "--dry", "yard.show"]) == 1
    assert path.read_text(encoding="utf-8") == CURLY
    assert '+show "Marrow Lane"' in capsys.readouterr().out
    assert main(["check", "--dry", "yard.show"]) == 2


def test_mend_reaches_into_used_files(home: Path) -> None:
    write("yard.show", 'use "rig.show"\n' + GOOD)
    rig = write("rig.show", "lamp spare \u201cold\u201d: on box pwm1\n")
    main(["check", "--mend", "yard.show"])
    assert rig.read_text(encoding="utf-8") == 'lamp spare "old": on box pwm1\n'


def test_mend_with_json_tells_the_files(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write("yard.show", CURLY)
    assert main(["check", "--mend", "--json", "yard.show"]) == 0
    assert json.loads(capsys.readouterr().out)["mended"] == ["yard.show"]
    assert main(["check", "--mend", "--json", "yard.show"]) == 0
    assert json.loads(capsys.readouterr().out)["mended"] == []


def test_a_mend_that_is_not_safe_is_offered_and_not_made(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write("yard.show", UNSURE)
    assert main(["check", "--mend", "yard.show"]) == 1
    assert path.read_text(encoding="utf-8") == UNSURE
    assert "nothing that is safe" in capsys.readouterr().out


def test_only_safe_mends_in_known_files_are_chosen() -> None:
    def mend(safe: bool, file: str = "a.show") -> Mend:
        return Mend("write it", (Edit(Span(file, 1, 1, 1, 2), "x"),), safe)

    def finding(*mends: Mend) -> Finding:
        return Finding("L001", Severity.ERROR, Span("a.show", 1, 1, 1, 2), "No.", (), mends)

    found = safe_mends([finding(mend(False), mend(True)), finding(mend(True, "b.show"))], {"a.show": "a"})
    assert found == (mend(True),)


def test_mends_stop_where_they_would_make_it_worse(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sequencer import checks

    path = write("yard.show", CURLY)
    checked = checks.check_file(path)
    worse = checks.check_bytes(b"\0", "yard.show", lambda _: b"", lambda _: None)  # type: ignore[arg-type,return-value]
    several = checks.Checked(worse.show, worse.findings * 9, None, None, None)
    monkeypatch.setattr(checks, "check_bytes", lambda *_: several)
    assert mend_show(path, checked).changes == ()


def test_each_format_is_what_it_says(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write("yard.show", CURLY)
    assert main(["check", "--format", "sarif", "yard.show"]) == 1
    assert json.loads(capsys.readouterr().out)["version"] == "2.1.0"
    assert main(["check", "--format", "github", "yard.show"]) == 1
    assert all(line.startswith("::") for line in capsys.readouterr().out.splitlines())
    assert main(["check", "--format", "json", "yard.show"]) == 1
    assert json.loads(capsys.readouterr().out)["version"] == 1


def test_colour_is_off_in_a_pipe_and_on_when_asked_for(process: Process) -> None:
    write("yard.show", CURLY)
    assert b"\x1b" not in process("check", "yard.show").stdout
    assert b"\x1b[" in process("check", "yard.show", "--color", "always").stdout
    assert b"\x1b" not in process("check", "nowhere.show").stderr


@posix
@pytest.mark.parametrize(
    ("env", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)],
)
def test_on_a_terminal_colour_is_on_unless_no_color_is_set(
    process: Process, env: dict[str, str], coloured: bool
) -> None:
    # no-color.org: NO_COLOR counts when present and not an empty string.
    write("yard.show", CURLY)
    said = on_a_terminal(process, "check", "yard.show", env={"TERM": "xterm", **env})
    assert (b"\x1b[" in said) == coloured
    assert b"L004" in said


def on_a_terminal(process: Process, *args: str, env: dict[str, str]) -> bytes:
    """What the command writes to a terminal of its own."""
    import pty

    ours, theirs = pty.openpty()
    process(*args, env=env, stdout=theirs, stderr=theirs, capture_output=False)
    os.close(theirs)
    said = b""
    while True:
        try:
            part = os.read(ours, 65_536)
        except OSError:
            break
        if not part:
            break
        said += part
    os.close(ours)
    return said


def test_a_stream_of_few_characters_is_no_fault(process: Process) -> None:
    write("yard.show", GOOD.replace("Marrow", "幽霊 Marrow").replace("2 s:", "2 s"))
    done = process("check", "yard.show", env={"PYTHONIOENCODING": "cp1252"})
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr
    assert "eyes off" in done.stdout.decode("cp1252")
    same = process("check", "yard.show", "--json", env={"PYTHONIOENCODING": "cp1252"})
    assert json.loads(same.stdout)["summary"]["errors"] >= 1


@posix
def test_a_reader_that_leaves_early_is_no_fault(process: Process) -> None:
    write("yard.show", 'show "A"\n' + "nonsense here\n" * 300)
    ours, theirs = os.pipe()
    os.close(ours)
    done = process("check", "yard.show", stdout=theirs, stderr=subprocess.PIPE, capture_output=False)
    os.close(theirs)
    assert done.stderr == b""
    assert done.returncode == 141


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_said(process: Process) -> None:
    write("yard.show", CURLY)
    with open("/dev/full", "wb") as full:
        done = process("check", "yard.show", stdout=full, stderr=subprocess.PIPE, capture_output=False)
    assert done.returncode == 2
    assert b"no room left" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_check_loads_nothing_of_boards_and_tables(process: Process) -> None:
    write("yard.show", CURLY)
    code = "import sys; from sequencer.cli import main; main(['check', 'yard.show']); print(*sys.modules)"
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    said = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
    ).stdout
    loaded = set(said.splitlines()[-1].split())
    assert "sequencer.checks" in loaded
    heavy = {
        "rich",
        "serial",
        "asyncio",
        "difflib",
        "sequencer.board.link",
        "sequencer.cli.flash",
        "sequencer.dryrun",
    }
    assert heavy & loaded == set()


def test_of_very_many_findings_the_first_are_printed_and_all_counted(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lamps = "".join(f"lamp l{number}: on box pwm1, colour redd\n" for number in range(MOST_SHOWN + 5))
    write("yard.show", GOOD + lamps)
    assert main(["check", "yard.show"]) == 1
    out = capsys.readouterr().out
    assert out.count("] error N007 at ") <= MOST_SHOWN < len(lamps.splitlines())
    assert " more are not shown; mend the first ones, or see all with `--json`." in out
    assert main(["check", "yard.show", "--json"]) == 1
    assert len([one for one in findings_of(capsys) if one["code"] == "N007"]) == MOST_SHOWN + 5
