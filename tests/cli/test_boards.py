from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from sequencer.board.profiles import AVR328, AVR2560
from sequencer.cautions import caution
from sequencer.cli import main
from sequencer.cli.names import recall, remember
from sequencer.steps import Edge, Input, InputKind, Output, Program, Routine, Start, Step, encode
from sequencer.steps.listing import Names

Process = Callable[..., subprocess.CompletedProcess[bytes]]

PROGRAM = Program(
    board=AVR328.kind,
    show_id=7,
    outputs=(Output(pin=0, fades=True), Output(pin=6)),
    inputs=(Input(pin=0, low_when_tripped=True),),
    routines=(
        Routine(
            steps=(Step("set", (0, 1)), Step("wait", (150,)), Step("set", (0, 0)), Step("end")),
            starts=(Start(0, Edge.TRIPS),),
        ),
    ),
)
NAMES = Names(("window.eyes", "window.shove"), ("step",), ("window.glow",), ())
IMAGE = encode(PROGRAM)
OTHER = encode(replace(PROGRAM, show_id=9))
BOARD = ("--port", "virtual://trial?seed=3")

posix = pytest.mark.skipif(sys.platform == "win32", reason="terminals of POSIX")


@pytest.fixture
def image(home: Path) -> Path:
    path = home / "yard.steps"
    path.write_bytes(IMAGE)
    return path


def flat(text: str) -> str:
    return " ".join(text.split())


def value_of(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, object]:
    capsys.readouterr()
    assert main([*args, "--json"]) == 0
    value: dict[str, object] = json.loads(capsys.readouterr().out)
    return value


def test_flash_arm_trip_and_log_are_four_commands_on_one_board(
    image: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    remember(NAMES, IMAGE)
    assert main(["flash", str(image), "--yes", *BOARD]) == 0
    assert main(["arm", "--yes", *BOARD]) == 0
    assert main(["trip", "step", *BOARD]) == 0
    log = value_of(capsys, "log", *BOARD)
    texts = [entry["text"] for entry in log["entries"]]  # type: ignore[attr-defined]
    assert "window.glow started: step" in texts
    state = value_of(capsys, "state", *BOARD)
    assert state["mode"] == "armed"
    assert state["program"]["crc32"] == f"{zlib.crc32(IMAGE):08x}"  # type: ignore[index]
    assert main(["stop", *BOARD]) == 0
    assert value_of(capsys, "state", *BOARD)["mode"] == "disarmed"


def test_every_board_command_says_which_board_it_speaks_to(
    image: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["flash", str(image), "--yes"])
    for command in (["state"], ["arm", "--yes"], ["disarm"], ["stop"], ["log"], ["trip", "0"], ["readback"]):
        capsys.readouterr()
        main(command)
        out, err = capsys.readouterr()
        assert "virtual board on virtual://default" in flat(out + err), command


def test_cautions_are_shown_at_their_moments(image: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moments = {
        "flash": ["flash", str(image), "--yes", *BOARD],
        "arm": ["arm", "--yes", *BOARD],
        "arm.public": ["arm", "--yes", *BOARD],
        "stop": ["stop", *BOARD],
        "bench": ["bench", "0", *BOARD],
    }
    for name, command in moments.items():
        capsys.readouterr()
        main(command)
        assert caution(name).text in flat(capsys.readouterr().err), name


def test_a_show_without_a_stop_input_gets_its_caution_when_flashed(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stop = Input(pin=1, kind=InputKind.STOP)
    with_stop = replace(PROGRAM, inputs=(*PROGRAM.inputs, stop))
    for name, program, shown in (("a", PROGRAM, True), ("b", with_stop, False)):
        Path(name).write_bytes(encode(program))
        main(["flash", name, "--yes", *BOARD])
        assert (caution("stop").text in flat(capsys.readouterr().err)) == shown


def test_without_a_terminal_nothing_is_armed_or_flashed_unasked(image: Path, process: Process) -> None:
    assert process("flash", str(image), *BOARD).returncode == 2
    state = json.loads(process("state", "--json", *BOARD).stdout)
    assert state["program"] is None
    process("flash", str(image), "--yes", *BOARD)
    assert process("arm", *BOARD).returncode == 2
    assert json.loads(process("state", "--json", *BOARD).stdout)["mode"] == "disarmed"


def test_no_option_drives_an_output_without_a_terminal(image: Path, process: Process) -> None:
    process("flash", str(image), "--yes", *BOARD)
    done = process("bench", "0", *BOARD, stdin=None, input=b"yes\n")
    assert done.returncode == 2
    assert b"nothing was moved" in done.stderr
    assert process("bench", "0", "--yes", *BOARD).returncode == 2
    log = json.loads(process("log", "--json", *BOARD).stdout)
    assert not any("driven" in entry["text"] for entry in log["entries"])


@posix
@pytest.mark.parametrize(("said", "code"), [(b"yes\n", 0), (b"y\n", 2), (b"\n", 2), (b"\x04", 2)])
def test_an_output_is_driven_only_after_a_typed_yes(
    image: Path, process: Process, said: bytes, code: int
) -> None:
    import pty

    process("flash", str(image), "--yes", *BOARD)
    ours, theirs = pty.openpty()
    os.write(ours, said)
    done = process(
        "bench", "0", "--level", "60 %", "--for", "20 ms", *BOARD,
        stdin=theirs, stderr=theirs, stdout=subprocess.PIPE, capture_output=False,
    )  # fmt: skip
    os.close(theirs)
    os.close(ours)
    assert done.returncode == code
    log = json.loads(process("log", "--json", *BOARD).stdout)
    driven = [entry["text"] for entry in log["entries"] if "driven" in entry["text"]]
    assert bool(driven) == (code == 0)
    if driven:
        assert driven == ["output 0 driven by hand, at 60 %"]


@posix
def test_ctrl_c_lets_go_of_an_output_at_once(image: Path, process: Process) -> None:
    import pty

    process("flash", str(image), "--yes", *BOARD)
    ours, theirs = pty.openpty()
    os.write(ours, b"yes\n")
    command = [sys.executable, "-m", "sequencer", "bench", "0", "--for", "9 s", *BOARD]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    running = subprocess.Popen(command, env=env, stdin=theirs, stderr=theirs, stdout=subprocess.DEVNULL)
    said = b""
    while b"Type yes" not in said:
        said += os.read(ours, 1_000)
    time.sleep(0.5)
    running.send_signal(signal.SIGINT)
    assert running.wait(5) == 130
    os.close(theirs)
    os.close(ours)
    log = json.loads(process("log", "--json", *BOARD).stdout)["entries"]
    assert "driven" in log[-1]["text"]
    state = json.loads(process("state", "--json", *BOARD).stdout)
    assert set(state["levels"].values()) == {0}


def test_a_stop_that_does_not_arrive_says_what_to_do(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("stop", "disarm"):
        assert main([command, "--port", "no_such_port"]) == 3
        assert "cut its power and shut the air by hand" in flat(capsys.readouterr().err)
    main(["stop", "--port", "no_such_port"])
    assert caution("stop").text in flat(capsys.readouterr().err)


def test_an_armed_board_is_neither_flashed_nor_driven(image: Path, process: Process) -> None:
    process("flash", str(image), "--yes", *BOARD)
    process("arm", "--yes", *BOARD)
    other = image.with_name("other.steps")
    other.write_bytes(OTHER)
    done = process("flash", str(other), "--yes", *BOARD)
    assert done.returncode == 3
    assert b"armed" in done.stderr


def test_the_old_program_is_kept_and_can_be_put_back(image: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["flash", str(image), "--yes", *BOARD])
    other = image.with_name("other.steps")
    other.write_bytes(OTHER)
    report = value_of(capsys, "flash", str(other), "--yes", "--backup", "old.steps", *BOARD)
    assert report["flashed"]["backup"] == "old.steps"  # type: ignore[index]
    assert Path("old.steps").read_bytes() == IMAGE
    assert main(["flash", "old.steps", "--yes", *BOARD]) == 0
    again = value_of(capsys, "flash", "old.steps", "--yes", *BOARD)
    assert again["flashed"]["written"] is False  # type: ignore[index]


def test_what_is_for_another_board_or_no_program_is_refused(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("big.steps").write_bytes(encode(replace(PROGRAM, board=AVR2560.kind)))
    assert main(["flash", "big.steps", "--yes", *BOARD]) == 3
    assert "avr2560" in capsys.readouterr().err
    Path("cut.steps").write_bytes(IMAGE[:-1])
    assert main(["flash", "cut.steps", "--yes", *BOARD]) == 2
    assert main(["disassemble", "cut.steps"]) == 2


def test_readback_gives_the_very_bytes(image: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["flash", str(image), "--yes", *BOARD])
    assert main(["readback", "-o", "got.steps", *BOARD]) == 0
    assert Path("got.steps").read_bytes() == IMAGE
    capsys.readouterr()
    assert main(["readback", *BOARD]) == 0
    read = capsys.readouterr().out
    assert main(["disassemble", str(image)]) == 0
    assert capsys.readouterr().out == read


def test_board_trouble_has_its_own_exit_code(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["state", "--port", "no_such_port"]) == 3
    assert main(["state", "--port", "virtual://a?colour=red"]) == 3
    for command in (["trip", "0"], ["readback"], ["arm", "--yes"], ["reset-alarm"]):
        assert main([*command, *BOARD]) == 3, command
        assert "[x]" in capsys.readouterr().err


def test_a_board_that_is_held_by_another_says_so(image: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from sequencer.board.ports import open_link

    link, _ = open_link(BOARD[1])
    with link:
        assert main(["state", *BOARD]) == 3
    assert "in use" in capsys.readouterr().err


def test_a_sensor_is_named_or_numbered_and_never_guessed(
    image: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["flash", str(image), "--yes", *BOARD])
    assert main(["trip", "step", *BOARD]) == 2  # no names are known yet
    remember(NAMES, IMAGE)
    assert main(["trip", "stpe", *BOARD]) == 2
    assert "Did you mean step?" in flat(capsys.readouterr().err)
    assert main(["trip", "9", *BOARD]) == 3
    assert main(["trip", "step", *BOARD]) == 0


def test_names_belong_to_one_checksum(home: Path) -> None:
    remember(NAMES, IMAGE)
    assert recall(zlib.crc32(IMAGE)) == NAMES
    assert recall(zlib.crc32(IMAGE) ^ 1) is None


def test_power_cut_and_given_back_leaves_the_program_and_no_arming(
    image: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["flash", str(image), "--yes", *BOARD])
    main(["arm", "--yes", *BOARD])
    assert main(["power", "off", *BOARD]) == 0
    state = value_of(capsys, "state", *BOARD)
    assert state["mode"] == "disarmed"
    assert state["program"]["crc32"] == f"{zlib.crc32(IMAGE):08x}"  # type: ignore[index]
    assert main(["power", "cycle", *BOARD]) == 0
    assert main(["power", "off", "--port", "COM3"]) == 2


def test_levels_and_times_carry_their_unit(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for wrong in (
        ["--for", "2"],
        ["--for", "0 s"],
        ["--for", "2 min"],
        ["--level", "60"],
        ["--level", "101 %"],
    ):
        assert main(["bench", "0", *wrong, *BOARD]) == 2, wrong
    assert main(["bench", "0", "--for", "11 s", *BOARD]) == 2


def test_with_json_nothing_but_the_object_is_on_stdout(image: Path, process: Process) -> None:
    for command in (["flash", str(image), "--yes"], ["arm", "--yes"], ["trip", "0"], ["stop"]):
        done = process(*command, "--json", *BOARD)
        assert json.loads(done.stdout)["version"] == 1, command
        assert b"%" not in done.stderr, command  # no progress


def test_progress_in_a_pipe_is_one_line(image: Path, process: Process) -> None:
    done = process("flash", str(image), "--yes", *BOARD)
    assert done.stderr.count(b"Loading") == 1
    assert b"\r" not in done.stderr


def test_the_shelf_tells_each_value_with_its_source(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    parts = value_of(capsys, "shelf", "valve")["parts"]
    assert parts
    assert all(value["source"] for part in parts for value in part["says"])  # type: ignore[attr-defined]
    assert main(["shelf", "vlave"]) == 2
    assert "valve" in capsys.readouterr().err


def test_ports_lists_what_answers_and_the_virtual_boards(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from sequencer.board import ports

    monkeypatch.setattr(ports, "places", lambda: (ports.PortPlace("virtual://here", "a board"),))
    value = value_of(capsys, "ports")
    assert [port["answers"] for port in value["ports"]] == [True]  # type: ignore[attr-defined]
    assert value["virtual"] == ["virtual://default", "virtual://here"]
    assert main(["ports"]) == 0
    assert "[ok] virtual://here (a board)" in capsys.readouterr().out


def test_find_takes_the_one_board_there_is_and_no_other(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from sequencer.board import ports

    found = [ports.PortPlace("virtual://one")]
    monkeypatch.setattr(ports, "places", lambda: tuple(found))
    assert main(["state", "--port", "find"]) == 0
    assert "virtual://one" in capsys.readouterr().out
    found.append(ports.PortPlace("virtual://two"))
    assert main(["state", "--port", "find"]) == 3
    assert "virtual://two" in capsys.readouterr().err
    found.clear()
    assert main(["state", "--port", "find"]) == 3


def test_every_key_of_a_boards_answers_is_described(image: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (Path(main.__code__.co_filename).parent / "JSON.md").read_text(encoding="utf-8")
    commands = (
        ["flash", str(image), "--yes"],
        ["state"],
        ["disarm"],
        ["trip", "0"],
        ["log"],
        ["readback"],
        ["power", "cycle"],
        ["power", "off"],
    )
    for command in commands:
        value = value_of(capsys, *command, *BOARD)
        value.get("levels", {}).clear()  # type: ignore[attr-defined]
        assert {key for key in keys_of(value) if f"`{key}`" not in text} == set(), command


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for item in value.values() for key in keys_of(item)}
    return {key for item in value for key in keys_of(item)} if isinstance(value, list) else set()


@pytest.mark.parametrize(
    ("left_in", "words", "live"),
    [
        ("upload", "keeps the program it had, and nothing of the new one runs", IMAGE),
        ("read_back", "keeps the program it had, and nothing of the new one runs", IMAGE),
        ("commit", "keeps the program it had, and nothing of the new one runs", IMAGE),
        ("confirm", "is whole on the board, on trial: flash it once more", OTHER),
    ],
)
def test_ctrl_c_leaves_a_whole_program_and_says_which(
    left_in: str,
    words: str,
    live: bytes,
    image: Path,
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Left while pieces are sent or read back, before the commit, and between commit and confirmation."""
    from sequencer.board.link import Link

    assert main(["flash", str(image), "--yes", *BOARD]) == 0
    (home / "new.steps").write_bytes(OTHER)
    real = getattr(Link, left_in)

    def struck(self: Link, *args: object, **options: object) -> object:
        if left_in in ("commit", "confirm"):
            raise KeyboardInterrupt

        def progress(done: int, _: int) -> None:
            if done:
                raise KeyboardInterrupt

        if left_in == "upload":
            return real(self, *args[:2], progress)
        return real(self, *args, **{**options, "progress": progress})

    capsys.readouterr()
    with monkeypatch.context() as patched:
        patched.setattr(Link, left_in, struck)
        assert main(["flash", str(home / "new.steps"), "--yes", *BOARD, "--backup", str(home / "old")]) == 130
    assert words in flat(capsys.readouterr().err)
    program = value_of(capsys, "readback", *BOARD)["program"]
    assert program["hex"] == live.hex()  # type: ignore[index]
    assert main(["flash", str(home / "new.steps"), "--yes", *BOARD]) == 0
    assert value_of(capsys, "state", *BOARD)["program"]["standing"] == "confirmed"  # type: ignore[index]
