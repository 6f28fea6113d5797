"""Where a person is asked: what is told before the question, and what Ctrl-C at it leaves."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from sequencer.board.virtual import state_folder
from sequencer.cli import main

if sys.platform == "win32":
    pytest.skip("terminals of POSIX", allow_module_level=True)

Process = Callable[..., subprocess.CompletedProcess[bytes]]
Said = pytest.CaptureFixture[str]
SHOW = """show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
lamp eyes: on box pwm0
fogger locker: on box out0
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off, locker runs for 1 s
"""


@pytest.fixture
def board(home: Path) -> Path:
    """A virtual board with the show on it."""
    path = Path("yard.show")
    path.write_text(SHOW)
    assert main(["flash", "yard.show", "--yes"]) == 0
    return path


def at_terminal(*words: str, type_in: bytes = b"", interrupt: bool = False) -> tuple[int, str]:
    """Exit code, and what came, of a command at a terminal, answered or interrupted where it asks."""
    import pty

    ours, theirs = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "COLUMNS": "100"}
    command = [sys.executable, "-m", "sequencer", *words]
    running = subprocess.Popen(command, env=env, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True)
    os.close(theirs)
    came, until, answered = b"", time.monotonic() + 20, False
    while time.monotonic() < until:
        try:
            piece = os.read(ours, 4096)
        except OSError:  # what Linux says of a terminal that nobody holds any more
            break
        if not piece:
            break
        came += piece
        if b"go on: " in came and not answered:
            answered = True
            if interrupt:
                time.sleep(0.2)
                running.send_signal(signal.SIGINT)
            else:
                os.write(ours, type_in)
    code = running.wait(5)
    os.close(ours)
    return code, " ".join(came.decode().split())


@pytest.mark.parametrize(
    ("command", "undone"),
    [
        (["bench", "eyes"], "nothing was moved"),
        (["arm"], "nothing was armed"),
        (["flash", "other.show"], "nothing was written"),
    ],
)
def test_ctrl_c_at_the_question_says_that_nothing_happened(board: Path, command: list[str], undone: str) -> None:
    Path("other.show").write_text(SHOW.replace("2 s:", "3 s:"))
    code, came = at_terminal(*command, interrupt=True)
    assert code == 130
    assert came.endswith(f"Left with Ctrl-C; {undone}.")
    code, came = at_terminal(*command, type_in=b"no\n")
    assert code == 2
    assert came.endswith(f"The answer was not yes, so {undone}.")


def test_before_the_question_it_is_said_what_the_drive_will_do(board: Path) -> None:
    code, came = at_terminal("bench", "eyes", "--level", "60%", "--for", "20 ms", type_in=b"yes\n")
    assert code == 0
    caution, told, question = (came.index(part) for part in ("[!] Caution", "This turns eyes", "Drive eyes"))
    assert caution < told < question
    assert "This turns eyes, on box pwm0, to 60 % for 20 ms. Then it goes back to its safe level by itself" in came


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["locker", "--level", "60%"], 2, "locker is only on or off, so it cannot be turned to 60 %; nothing was"),
        (["7"], 3, "its program has no output 7"),
    ],
)
def test_what_cannot_be_driven_is_told_before_the_question(
    board: Path, words: list[str], code: int, says: str
) -> None:
    got, came = at_terminal("bench", *words, type_in=b"yes\n")
    assert got == code
    assert says in came
    assert "Type yes" not in came


def test_what_is_only_on_or_off_can_be_driven_so(board: Path) -> None:
    for level in ("on", "100%", "off"):
        assert at_terminal("bench", "locker", "--level", level, "--for", "10 ms", type_in=b"yes\n")[0] == 0


def test_an_armed_board_says_how_it_is_disarmed_on_its_own_port(home: Path, capsys: Said) -> None:
    Path("yard.show").write_text(SHOW)
    Path("other.show").write_text(SHOW.replace("2 s:", "3 s:"))
    for port in ([], ["--port", "virtual://hut"]):
        for command in (["flash", "yard.show", "--yes"], ["arm", "--yes"]):
            assert main([*command, *port]) == 0
        capsys.readouterr()
        assert main(["flash", "other.show", "--yes", *port]) == 3
        said = " ".join(capsys.readouterr().err.split())
        assert "disarm it first, with `sequencer disarm`." in said
        assert ("Say `--port virtual://hut` there too." in said) == bool(port)


def test_a_virtual_board_is_neither_made_nor_changed_for_a_show_that_does_not_fit_it(home: Path, capsys: Said) -> None:
    Path("yard.show").write_text(SHOW)
    main(["compile", "yard.show"])
    for file in ("yard.show", "yard.steps"):
        assert main(["flash", file, "--yes", "--port", "virtual://hut?board=avr2560"]) == 3
        said = " ".join(capsys.readouterr().err.split())
        assert 'comes with --port "virtual://avr328?board=avr328".' in said
        assert not list(state_folder().glob("hut*"))
    assert main(["flash", "yard.show", "--yes", "--port", "virtual://hut"]) == 0
    before = (state_folder() / "hut.eeprom").read_bytes()
    capsys.readouterr()
    assert main(["state", "--port", "virtual://hut?board=avr2560"]) == 3
    said = " ".join(capsys.readouterr().err.split())
    assert "was made as avr328 and is no avr2560; name another board, or remove its memory file" in said
    assert (state_folder() / "hut.eeprom").read_bytes() == before


def test_before_a_power_cut_it_is_said_that_the_log_goes_with_it(board: Path, capsys: Said) -> None:
    assert main(["trip", "step"]) == 0
    for what, told in (("off", True), ("cycle", True), ("on", False)):
        capsys.readouterr()
        assert main(["power", what]) == 0
        assert ("log does not survive a power cut" in " ".join(capsys.readouterr().err.split())) == told
    capsys.readouterr()
    assert main(["log", "--json"]) == 0
    assert [entry["text"] for entry in json.loads(capsys.readouterr().out)["entries"]] != []
    assert main(["log"]) == 0
    assert "step trips" not in capsys.readouterr().out


def test_progress_begins_with_work_and_ends_its_line(board: Path, process: Process) -> None:
    again = process("flash", "yard.show", "--yes")
    assert b"Loading" not in again.stderr
    Path("other.show").write_text(SHOW.replace("2 s:", "3 s:"))
    code, came = at_terminal("flash", "other.show", type_in=b"yes\n")
    assert code == 0
    assert "100%" in came


def test_ports_and_state_keep_within_a_narrow_window(
    board: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sequencer.board import ports

    monkeypatch.setenv("COLUMNS", "60")
    there = (ports.PortPlace("virtual://here", "a board"), ports.PortPlace("no_such_port"))
    monkeypatch.setattr(ports, "places", lambda: there)
    for command in (["ports"], ["state"], ["log"], ["explain", "all"]):
        capsys.readouterr()
        assert main(command) == 0
        assert max(map(len, capsys.readouterr().out.splitlines())) <= 60, command


def test_what_the_system_has_no_words_for_is_left_away(monkeypatch: pytest.MonkeyPatch) -> None:
    from serial.tools import list_ports
    from serial.tools.list_ports_common import ListPortInfo

    from sequencer.board.ports import places

    bare, told = ListPortInfo("/dev/ttyS0"), ListPortInfo("/dev/ttyUSB0")
    told.description = "USB serial"
    monkeypatch.setattr(list_ports, "comports", lambda: [bare, told])
    assert [place.description for place in places()] == ["", "USB serial"]
